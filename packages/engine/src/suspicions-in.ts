import { resolve } from 'node:path';
import type { MeasureRow, Mesh } from '@stonehand/model';
import type { Engine, Task } from './engine.ts';
import { partListsIn } from './intake-lists.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import { type Suspicion, suspicionsOf } from './suspicions.ts';
import type { Likeness } from './suspicions-shapes.ts';

export type SuspicionsInOptions = Readonly<{
  /** `compareShapes` of package inspect; called only for pairs whose figures or names are alike */
  compare: (a: Mesh, b: Mesh) => Likeness | Promise<Likeness>;
  quantities?: ReadonlyMap<string, number>;
}>;

/**
 * The suspicions about the meshes of a folder, its README and its lists of parts. Comparisons come from the cache where they were
 * made before.
 * @param rows `file` relative to `root`, forward slashes, no file twice
 */
export async function suspicionsIn(
  engine: Engine,
  root: string,
  rows: readonly MeasureRow[],
  { compare, quantities }: SuspicionsInOptions,
): Promise<Suspicion[]> {
  const task: Task<Readonly<{ a: MeshRef; b: MeshRef }>, Likeness> = {
    name: 'likeness',
    keyed: ({ a, b }) => ({ a: keyOfMesh(a), b: keyOfMesh(b) }),
    run: async ({ a, b }, { cacheFolder }) => {
      const { loadMesh } = await import('./load-mesh.ts');
      const [x, y] = [await loadMesh(a, cacheFolder), await loadMesh(b, cacheFolder)];
      const { same, mirrored, scale, distance } = await compare(x.mesh, y.mesh);
      return { same, mirrored, scale, distance: { meanMm: distance.meanMm, maxMm: distance.maxMm } };
    },
  };
  const refOf = async ({ file, unit, unitFrom }: Readonly<{ file: string; unit: string; unitFrom: string }>) => {
    const path = resolve(root, file);
    const contentHash = await engine.content.hashOf(path, file);
    return { name: file, path, contentHash, scale: 1, ...(unitFrom === 'stated' ? { unit } : {}) };
  };
  return suspicionsOf(rows, {
    compare: async (a, b) => engine.one(task, { a: await refOf(a), b: await refOf(b) }, 'comparing'),
    lists: partListsIn(root),
    ...(quantities === undefined ? {} : { quantities }),
  });
}
