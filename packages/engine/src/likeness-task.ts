import type { Task } from './engine.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import type { Likeness } from './suspicions-shapes.ts';

export type LikenessInput = Readonly<{ a: MeshRef; b: MeshRef }>;

/** How alike two meshes are, whatever their triangles, places and turns. */
export const likenessTask: Task<LikenessInput, Likeness> = {
  name: 'likeness',
  keyed: ({ a, b }) => ({ a: keyOfMesh(a), b: keyOfMesh(b) }),
  async run({ a, b }, { cacheFolder }) {
    const [{ loadMesh }, { compareShapes }] = await Promise.all([
      import('./load-mesh.ts'),
      import('@stonehand/inspect'),
    ]);
    const [x, y] = [await loadMesh(a, cacheFolder), await loadMesh(b, cacheFolder)];
    const { same, mirrored, scale, distance } = compareShapes(x.mesh, y.mesh);
    return { same, mirrored, scale, distance: { meanMm: distance.meanMm, maxMm: distance.maxMm } };
  },
};
