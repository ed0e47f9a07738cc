import type { Bore } from '@stonehand/inspect';
import type { Task } from './engine.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

/** The round and hexagonal walls of a part as it is printed. */
export const boresTask: Task<Readonly<{ mesh: MeshRef }>, readonly Bore[]> = {
  name: 'bores',
  keyed: ({ mesh }) => keyOfMesh(mesh),
  async run({ mesh: ref }, { cacheFolder }) {
    const { loadMesh } = await import('./load-mesh.ts');
    const { findBores } = await import('@stonehand/inspect');
    return findBores((await loadMesh(ref, cacheFolder)).mesh);
  },
};
