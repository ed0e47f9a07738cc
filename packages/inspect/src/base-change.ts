import { seededRandom } from '@stonehand/base';
import type { Mesh, Vec3 } from '@stonehand/model';
import { surfaceSamples } from './surface-samples.ts';
import { buildTree, type Nearest, nearestPoint } from './triangle-tree.ts';

/** What a new revision of a base does to a part that was reworked from it. */
export type BaseChange = Readonly<{
  /** share of the old base's surface that the new one leaves */
  changedShare: number;
  /** share of the old base's surface that the rework still has and the new base leaves */
  keptChangedShare: number;
  /** largest distance of the new base from surface that the rework kept, and where */
  mostMm: number;
  atMm?: Vec3;
  /** a change narrower than this may be missed */
  blindMm: number;
}>;

const SAMPLES = 6000;

/**
 * Whether the change of a base touches what the rework kept of it: points of the old base's surface that lie on the rework's surface were kept; of those, the ones that the
 * new base has moved away from are what has to be reworked. All three stand in the coordinates of their files, as revisions of one model do.
 */
export function baseChange(
  oldBase: Mesh,
  newBase: Mesh,
  rework: Mesh,
  { toleranceMm = 0.05, seed = 1 }: Readonly<{ toleranceMm?: number; seed?: number }> = {},
): BaseChange {
  const toNew = buildTree(newBase);
  const toRework = buildTree(rework);
  const points = withCorners(oldBase, surfaceSamples(oldBase, SAMPLES, seededRandom(seed)));
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  const count = points.length / 3;
  let changed = 0;
  let keptChanged = 0;
  let mostMm = 0;
  let atMm: Vec3 | undefined;
  for (let i = 0; i < points.length; i += 3) {
    const [x, y, z] = [points[i], points[i + 1], points[i + 2]];
    const moved = Math.sqrt(nearestPoint(toNew, x, y, z, hit).distance2);
    if (moved <= toleranceMm) continue;
    changed++;
    if (Math.sqrt(nearestPoint(toRework, x, y, z, hit).distance2) > toleranceMm) continue;
    keptChanged++;
    if (moved <= mostMm) continue;
    mostMm = moved;
    atMm = [x, y, z];
  }
  return {
    changedShare: changed / count,
    keptChangedShare: keptChanged / count,
    mostMm,
    ...(atMm === undefined ? {} : { atMm }),
    blindMm: 2 * Math.sqrt(areaOf(oldBase) / SAMPLES),
  };
}

/** Corners are where small changes show first. */
function withCorners({ positions }: Mesh, samples: Float64Array): Float64Array {
  const step = Math.max(1, Math.ceil(positions.length / 3 / SAMPLES));
  const corners: number[] = [];
  for (let v = 0; v < positions.length; v += 3 * step) corners.push(positions[v], positions[v + 1], positions[v + 2]);
  const all = new Float64Array(samples.length + corners.length);
  all.set(samples);
  all.set(corners, samples.length);
  return all;
}

function areaOf({ positions: p, triangles: t }: Mesh): number {
  let area = 0;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
    const u = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const v = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    area += Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
  }
  return area;
}
