import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { type HollowOutcome, hollowTask, loadMesh, poseTask } from '@stonehand/engine';
import { writeStl } from '@stonehand/mesh';
import { renderHollowed, write3mf } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import type { Context } from './context.ts';
import { fileNameOf } from './file-name.ts';
import type { NamedPart } from './part-named.ts';

/** The part with its inside taken out behind a wall, in its own best way up, and what that saves. */
export async function hollowPart(
  { work, part, printers, engine, workspace }: NamedPart,
  { wallMm, out, json }: Readonly<{ wallMm: number; out?: string; json: boolean }>,
  context: Context,
): Promise<number> {
  const [printer] = printers;
  if (printer === undefined)
    throw new StonehandError('USAGE', `${part.name}: no printer can print it`, 'See: stonehand fit');
  const { recipe, material, spec } = work;
  const [best] = await engine.one(
    poseTask,
    { mesh: part.ref, recipe, rule: spec.pose, seed: workspace.seed },
    'which way up',
  );
  const outcome = await engine.one(
    hollowTask,
    { mesh: part.ref, pose: best!.pose, recipe, printer, material, wallMm },
    'hollowing',
  );
  const files = out === undefined ? [] : await write(part.name, out, outcome, engine.cacheFolder);
  const row = { file: part.name, way: best!.pose.reason, printer: printer.id, ...outcome, files };
  context.print(
    json ? JSON.stringify(row) : renderHollowed(row, { width: context.width, units: workspace.unitsShown }),
  );
  return 0;
}

async function write(name: string, out: string, { ref }: HollowOutcome, cacheFolder: string): Promise<string[]> {
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true });
  const { mesh } = await loadMesh(ref, cacheFolder);
  const base = `${fileNameOf(name)}-hollow`;
  await replaceFile(join(folder, `${base}.stl`), writeStl(mesh, base));
  await replaceFile(join(folder, `${base}.model.3mf`), write3mf([{ name: base, mesh }], [{ object: 0 }], {}));
  return [`${base}.stl`, `${base}.model.3mf`];
}
