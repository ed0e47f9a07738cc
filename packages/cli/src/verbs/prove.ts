import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { estimateFiles, loadMesh } from '@stonehand/engine';
import { type Bore, featureFor, findBores, testPiece } from '@stonehand/inspect';
import { writeStl } from '@stonehand/mesh';
import type { HardwareSize } from '@stonehand/model';
import { durationText, massText } from '@stonehand/report';
import { builtInHardware, replaceFile } from '@stonehand/shop';
import { fileNameOf } from '../file-name.ts';
import { type NamedPart, partNamed } from '../part-named.ts';
import type { Verb } from '../program.ts';

type ProveOptions = Readonly<{ item?: string; at?: readonly number[]; around?: number; out?: string; unit?: string }>;

/** Cuts the neighbourhood of a bore out of a part, to be printed before the whole part. */
export const prove: Verb<ProveOptions> = async ([name], options, context) => {
  if (name === undefined)
    throw new StonehandError('USAGE', 'prove: no part is named', 'Name a mesh file, or a part of the workspace.');
  const named = await partNamed(name, options, context);
  const { part, printers, engine, workspace } = named;
  const { mesh } = await loadMesh(part.ref, engine.cacheFolder);
  const feature = featureOf(named, findBores(mesh), options);
  const piece = testPiece(mesh, feature, options.around === undefined ? {} : { aroundMm: options.around });
  const folder = resolve(options.out ?? '.');
  mkdirSync(folder, { recursive: true });
  const file = join(folder, `${fileNameOf(part.name)}-test.stl`);
  await replaceFile(file, writeStl(piece, `${part.name}, test piece`));
  const printer = printers[0] ?? workspace.printers[0]!;
  const [row] = await estimateFiles(engine, [
    { file, recipe: part.recipe, printer, material: part.material, unit: 'mm' },
  ]);
  if (row === undefined || 'error' in row)
    throw new StonehandError(
      'GEOMETRY_FAILED',
      `${file}: the test piece cannot be sliced`,
      'Name more wall around the bore: --around 8.',
    );
  const { massG, durationS } = row.estimate;
  context.print(
    options.json === true
      ? JSON.stringify({ file, feature, massG, durationS, recipe: part.recipe.id, printer: printer.id })
      : `${file}: ${massText(massG, workspace.unitsShown)}, ${durationText(durationS)} with ${part.recipe.id} on ${printer.id}\n` +
          `around the ${feature.kind} of ${feature.flatsMm.toFixed(2)} mm across its flats, ${feature.depthMm.toFixed(1)} mm deep; print it, try it, then print the part`,
  );
  return 0;
};

/** By the bought item that sits in it, by its place, or the only one that the part's fits name. */
function featureOf({ part, workspace }: NamedPart, bores: readonly Bore[], { item, at }: ProveOptions): Bore {
  if (at !== undefined) return nearest(bores, at);
  const wish = part.fits.find(({ itemId }) => item === undefined || itemId === item);
  const itemId = item ?? wish?.itemId;
  // Built-in items are known by name whether or not an assembly uses them.
  const known = workspace.hardware.find(({ id }) => id === itemId) ?? builtInHardware(itemId ?? '');
  const size: HardwareSize | undefined = known?.size;
  if (itemId === undefined || size === undefined)
    throw new StonehandError(
      'USAGE',
      itemId === undefined ? 'prove: nothing says which bore is meant' : `the size of "${itemId}" is not known`,
      itemId === undefined
        ? 'Name the bought item that sits in it with --item "608 bearing", or its place with --at 0,0,8.5.'
        : 'State its size in shop/hardware.yaml: size: { outside: 22, height: 7 }; or name the place of the bore with --at 0,0,8.5.',
    );
  const found = featureFor(bores, size, wish ?? { itemId, fit: 'snug', on: 'bore' });
  if (found === undefined)
    throw new StonehandError(
      'DATA_UNKNOWN',
      `${part.name} has no bore for the ${itemId}`,
      'See its bores with: stonehand check.',
    );
  return found;
}

function nearest(bores: readonly Bore[], at: readonly number[]): Bore {
  const off = ({ atMm }: Bore): number => Math.hypot(...atMm.map((x: number, i) => x - (at[i] ?? 0)));
  const [best] = [...bores].sort((a, b) => off(a) - off(b));
  if (best === undefined || at.length !== 3)
    throw new StonehandError('USAGE', 'prove: no bore lies there', 'Write three numbers: --at 0,0,8.5.');
  return best;
}
