import type { Recipe, Vec3 } from '@stonehand/model';
import { hull2, POSE_WEIGHTS } from '@stonehand/orient';
import type { Corners } from './fits.ts';
import { PATCH, type Patches } from './patches.ts';
import { planeFrame } from './plane.ts';

/** What of a recipe decides how costly a way up is. */
export type PoseRecipe = Pick<Recipe, 'supportShare' | 'overhangFromVerticalDeg' | 'firstLayerMm' | 'support'>;

export type QuickPose = Readonly<{ up: Vec3; heightMm: number; supportMm3: number; costMm3: number }>;

/** Faces within half a millimetre of the lowest point lie on the plate. */
const PLATE_MM = 0.5;

/**
 * A way up judged from the surface's patches alone: columns down to the plate (parts below are not seen, nor bridges),
 * marks, height and how it stands, weighed as package orient weighs them. All in the mesh's own numbers.
 */
export function quickPose(
  patches: Patches,
  corners: Corners,
  { centre, volumeMm3 }: Readonly<{ centre: Vec3; volumeMm3: number }>,
  up: Vec3,
  recipe: PoseRecipe,
): QuickPose {
  const [ux, uy, uz] = up;
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < corners.length; i += 3) {
    const h = ux * corners[i] + uy * corners[i + 1] + uz * corners[i + 2];
    if (h < low) low = h;
    if (h > high) high = h;
  }
  const limit = Math.sin((recipe.overhangFromVerticalDeg * Math.PI) / 180) + 1e-4;
  let supportMm3 = 0;
  let contactMm2 = 0;
  if (recipe.support !== 'none') {
    for (let k = 0; k < patches.length; k += PATCH) {
      const down = -(ux * patches[k] + uy * patches[k + 1] + uz * patches[k + 2]);
      if (down <= 0) continue;
      const area2 = patches[k] * patches[k] + patches[k + 1] * patches[k + 1] + patches[k + 2] * patches[k + 2];
      if (down * down <= limit * limit * area2) continue;
      const h = ux * patches[k + 3] + uy * patches[k + 4] + uz * patches[k + 5] - low;
      if (h < PLATE_MM) continue;
      supportMm3 += down * h;
      contactMm2 += down;
    }
  }
  const w = POSE_WEIGHTS;
  const heightMm = high - low;
  const tipDeg = tipDegOf(corners, centre, up, low);
  const costMm3 =
    recipe.supportShare * supportMm3 +
    w.scarMm * contactMm2 +
    w.heightMm2 * heightMm +
    w.tippingShare * volumeMm3 * Math.max(0, 1 - tipDeg / w.steadyDeg);
  return { up, heightMm, supportMm3, costMm3 };
}

/** How far it may lean: from the hull of what touches the plate and the height of the centre of mass. */
function tipDegOf(corners: Corners, centre: Vec3, up: Vec3, low: number): number {
  const [axisX, axisY] = planeFrame(up);
  const xy: number[] = [];
  for (let i = 0; i < corners.length; i += 3) {
    const [x, y, z] = [corners[i], corners[i + 1], corners[i + 2]];
    if (up[0] * x + up[1] * y + up[2] * z - low > PLATE_MM) continue;
    xy.push(axisX[0] * x + axisX[1] * y + axisX[2] * z, axisY[0] * x + axisY[1] * y + axisY[2] * z);
  }
  if (xy.length < 6) return 0;
  const hull = hull2(Float64Array.from(xy));
  const cx = axisX[0] * centre[0] + axisX[1] * centre[1] + axisX[2] * centre[2];
  const cy = axisY[0] * centre[0] + axisY[1] * centre[1] + axisY[2] * centre[2];
  let least = Infinity;
  for (let i = 0; i < hull.length; i += 2) {
    const j = (i + 2) % hull.length;
    const dx = hull[j] - hull[i];
    const dy = hull[j + 1] - hull[i + 1];
    const length = Math.hypot(dx, dy);
    if (length > 0) least = Math.min(least, (dx * (cy - hull[i + 1]) - dy * (cx - hull[i])) / length);
  }
  const heightMm = Math.max(1e-9, up[0] * centre[0] + up[1] * centre[1] + up[2] * centre[2] - low);
  return least === Infinity ? 0 : Math.max(0, (Math.atan2(least, heightMm) * 180) / Math.PI);
}
