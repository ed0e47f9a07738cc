import type { Mesh, Vec3 } from '@stonehand/model';
import { type Corners, directionsOf, extentAlong } from './fits.ts';
import type { Plane } from './plane.ts';
import { MOMENTS, scanSections } from './section-scan.ts';

const PAIRS = 12;
/** Two drawings of one curve by different chords differ by about this. */
const SAME_SHARE = 0.004;

/**
 * Planes in which a part is its own mirror image: square to one of the mesh's axes or to a long direction of its hull,
 * through the middle of its extent. Sections at equal distances to both sides must agree in length and in the moments of
 * their outline up to the third order; a difference smaller than about 0.4 % of the outline is not seen.
 */
export function mirrorPlanes(mesh: Mesh, corners: Corners, middle: Vec3): Plane[] {
  return directionsOf(corners).flatMap((normal) => {
    const [low, high] = extentAlong(corners, normal);
    const shiftMm = normal[0] * mesh.originMm[0] + normal[1] * mesh.originMm[1] + normal[2] * mesh.originMm[2];
    const offsetMm = (low + high) / 2 + shiftMm;
    const stepMm = (high - low) / (2 * PAIRS + 1);
    const firstMm = offsetMm - (PAIRS - 0.5) * stepMm;
    const { moments } = scanSections(mesh, normal, { firstMm, stepMm, count: 2 * PAIRS }, middle);
    for (let i = 0; i < PAIRS; i++) if (!alike(moments, i, 2 * PAIRS - 1 - i)) return [];
    return [{ normal, offsetMm }];
  });
}

function alike(moments: Float64Array, i: number, j: number): boolean {
  const a = moments.subarray(MOMENTS * i, MOMENTS * (i + 1));
  const b = moments.subarray(MOMENTS * j, MOMENTS * (j + 1));
  const lengthMm = Math.max(a[0], b[0]);
  if (lengthMm === 0) return true;
  const sizeMm = Math.sqrt((Math.max(a[3], b[3]) + Math.max(a[5], b[5])) / lengthMm);
  for (let k = 0; k < MOMENTS; k++) {
    const order = k === 0 ? 0 : k < 3 ? 1 : k < 6 ? 2 : 3;
    if (Math.abs(a[k] - b[k]) > SAME_SHARE * (1 + order) * lengthMm * sizeMm ** order) return false;
  }
  return true;
}
