import type { Task } from './engine.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

/** How many bores there are of a diameter across their flats, widest first. */
export type BoreCount = Readonly<{ flatsMm: number; count: number }>;

/** The round bores of a part as it is printed, to tell what a scale does to them. */
export const boresTask: Task<Readonly<{ mesh: MeshRef }>, readonly BoreCount[]> = {
  name: 'bores',
  keyed: ({ mesh }) => keyOfMesh(mesh),
  async run({ mesh: ref }, { cacheFolder }) {
    const { loadMesh } = await import('./load-mesh.ts');
    const { findBores } = await import('@stonehand/inspect');
    const { mesh } = await loadMesh(ref, cacheFolder);
    const counts = new Map<number, number>();
    for (const { kind, outline, flatsMm } of findBores(mesh)) {
      if (kind !== 'bore' || outline === 'polygon') continue;
      const rounded = Math.round(100 * flatsMm) / 100;
      counts.set(rounded, (counts.get(rounded) ?? 0) + 1);
    }
    return [...counts].map(([flatsMm, count]) => ({ flatsMm, count })).sort((a, b) => b.flatsMm - a.flatsMm);
  },
};
