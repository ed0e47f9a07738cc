import type { Vec3 } from '@stonehand/model';
import type { Engine, Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import type { PartOutcome } from './pieces.ts';

/** Directions in which a mesh is felt for its outermost points: an outline drawn through them misses 1 to 2 % of a round one. */
const DIRECTIONS = 96;

/** Outermost points of a mesh, tenths of a millimetre: what a drawing needs of its shape. */
export const outlineTask: Task<MeshRef, readonly Vec3[]> = {
  name: 'outline',
  keyed: keyOfMesh,
  async run(ref, { cacheFolder }) {
    const { positions: p, originMm } = (await loadMesh(ref, cacheFolder)).mesh;
    const found = new Set<number>();
    const turn = Math.PI * (3 - Math.sqrt(5));
    for (let d = 0; d < DIRECTIONS; d++) {
      const z = 1 - (2 * d + 1) / DIRECTIONS;
      const round = Math.sqrt(1 - z * z);
      const [dx, dy] = [round * Math.cos(turn * d), round * Math.sin(turn * d)];
      let best = -1;
      let farthest = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < p.length; i += 3) {
        const far = p[i]! * dx + p[i + 1]! * dy + p[i + 2]! * z;
        if (far > farthest) [best, farthest] = [i, far];
      }
      if (best >= 0) found.add(best);
    }
    const tenths = (i: number, k: 0 | 1 | 2): number => Math.round((p[i + k]! + originMm[k]) * 10) / 10;
    return [...found].sort((a, b) => a - b).map((i): Vec3 => [tenths(i, 0), tenths(i, 1), tenths(i, 2)]);
  },
};

/** Outermost points of every part with a mesh, by part id. */
export async function outlinesOf(
  engine: Engine,
  outcomes: readonly PartOutcome[],
): Promise<Record<string, readonly Vec3[]>> {
  const parts = outcomes.flatMap(({ part: { spec, ref } }) => (ref === undefined ? [] : [{ id: spec.id, ref }]));
  const results = await engine.map(
    outlineTask,
    parts.map(({ ref }) => ref),
    'outlines',
  );
  return Object.fromEntries(results.flatMap((result, i) => (result.ok ? [[parts[i]!.id, result.value]] : [])));
}
