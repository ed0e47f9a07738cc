import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { loadMesh, splitTask } from '@stonehand/engine';
import { writeStl } from '@stonehand/mesh';
import { renderSplit, write3mf } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from '../file-name.ts';
import { partNamed } from '../part-named.ts';
import type { Verb } from '../program.ts';

type SplitOptions = Readonly<{ bed?: string; on?: string; pieces?: number; out?: string; unit?: string }>;

export const split: Verb<SplitOptions> = async ([name], options, context) => {
  if (name === undefined)
    throw new StonehandError('USAGE', 'split: no part is named', 'Name a mesh file, or a part of the workspace.');
  const { part, printers, engine, workspace } = await partNamed(name, options, context);
  const outcome = await engine.one(
    splitTask,
    {
      partId: part.name,
      mesh: part.ref,
      printers,
      brimMm: part.recipe.brimMm,
      seed: workspace.seed,
      ...(options.pieces === undefined ? {} : { pieces: options.pieces }),
    },
    'where to cut',
  );
  const files: string[] = [];
  if (options.out !== undefined) {
    const folder = resolve(options.out);
    mkdirSync(folder, { recursive: true });
    for (const piece of outcome.pieces) {
      const { mesh } = await loadMesh(piece.ref, engine.cacheFolder);
      const base = `${fileNameOf(part.name)}-${piece.id}`;
      await replaceFile(join(folder, `${base}.stl`), writeStl(mesh, base));
      await replaceFile(join(folder, `${base}.model.3mf`), write3mf([{ name: base, mesh }], [{ object: 0 }], {}));
      files.push(`${base}.stl`, `${base}.model.3mf`);
    }
  }
  const row = {
    file: part.ref.name,
    planes: outcome.planes,
    bound: outcome.bound,
    pieces: outcome.pieces.map(({ id, partFromPiece }) => ({ id, partFromPiece })),
    joints: outcome.joints,
    files,
  };
  context.print(
    options.json === true
      ? JSON.stringify(row)
      : renderSplit(row, {
          width: context.width,
          colour: context.colour,
          units: options.units ?? workspace.unitsShown,
        }),
  );
  return 0;
};
