import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Estimate, Fault, Material, Printer, Recipe } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { estimateTask } from './estimate-task.ts';
import type { MeshRef } from './mesh-ref.ts';
import { poseTask } from './pose-task.ts';

export type EstimateRow =
  | Readonly<{ file: string; estimate: Estimate; pose: string }>
  | Readonly<{ file: string; error: Fault }>;

export type EstimateFilesOptions = Readonly<{
  recipe: Recipe;
  printer: Printer;
  material: Material;
  unit?: string;
  pose?: 'auto' | 'asModelled';
  seed?: number;
}>;

/** Grams, metres and seconds of mesh files, each in its best pose (or its own), one row a file in order. */
export async function estimateFiles(
  engine: Engine,
  files: readonly string[],
  options: EstimateFilesOptions,
): Promise<EstimateRow[]> {
  const { recipe, printer, material, unit, pose: rule = 'auto', seed = 1 } = options;
  const refs = await Promise.all(files.map((file) => refOf(engine, file, unit)));
  const rows = new Array<EstimateRow>(files.length);
  const good: { index: number; ref: MeshRef }[] = [];
  for (const [index, ref] of refs.entries()) {
    if ('code' in ref) rows[index] = { file: files[index]!, error: ref };
    else good.push({ index, ref });
  }
  const poses = await engine.map(
    poseTask,
    good.map(({ ref }) => ({ mesh: ref, recipe, rule, seed })),
    'which way up',
  );
  const posed = good.flatMap(({ index, ref }, i) => {
    const outcome = poses[i]!;
    if (outcome.ok) return [{ index, ref, pose: outcome.value[0]!.pose }];
    rows[index] = { file: files[index]!, error: outcome.fault };
    return [];
  });
  const estimates = await engine.map(
    estimateTask,
    posed.map(({ index, ref, pose }) => ({
      pieceId: files[index]!,
      mesh: ref,
      pose,
      recipe,
      material,
      printers: [printer],
    })),
    'slicing',
  );
  for (const [i, { index, pose }] of posed.entries()) {
    const outcome = estimates[i]!;
    const file = files[index]!;
    rows[index] = outcome.ok
      ? { file, estimate: { ...outcome.value.estimates[0]!, pieceId: file }, pose: pose.reason }
      : { file, error: outcome.fault };
  }
  return rows;
}

async function refOf(engine: Engine, file: string, unit: string | undefined): Promise<MeshRef | Fault> {
  try {
    const path = resolve(file);
    const contentHash = await engine.content.hashOf(path, file);
    return { name: file, path, contentHash, scale: 1, ...(unit === undefined ? {} : { unit }) };
  } catch (error) {
    if (!(error instanceof StonehandError)) throw error;
    const { code, message, remedy } = error;
    return { code, message, remedy };
  }
}
