import type { Vec3 } from '@stonehand/model';
import { hull2 } from './hull2.ts';
import { lowestAlong, type PointBlocks, pointsBelow } from './point-blocks.ts';
import { rotationFor } from './rotation.ts';

/** How a posed part stands: box, contact with the plate, and how far it may lean. */
export type Standing = Readonly<{
  minMm: Vec3;
  sizeMm: Vec3;
  /** hull of the shadow, x, y pairs, moved so that the box minimum is 0, 0 */
  shadow: Float64Array;
  /** hull of what touches the plate */
  contact: Float64Array;
  /** atan(distance of the centre's foot to the contact hull's edge / height of the centre), degrees; 0 when it does not stand */
  tipDeg: number;
}>;

/**
 * @param points corners of the convex hull, x, y, z
 * @param touchMm a corner up to this height touches the plate: half a first layer is squeezed onto it
 * Source: tilt angle from the support polygon, as in Prévost et al. 2013, ACM TOG 32(4) 81 (abstract)
 */
export function standingOf(points: Float64Array, centre: Vec3, r: readonly number[], touchMm: number): Standing {
  const shadow = new Float64Array((2 * points.length) / 3);
  const low = [Infinity, Infinity, Infinity];
  let high = -Infinity;
  const heights = new Float64Array(points.length / 3);
  for (let i = 0, k = 0, n = 0; i < points.length; i += 3, k += 2, n++) {
    const px = points[i];
    const py = points[i + 1];
    const pz = points[i + 2];
    shadow[k] = r[0] * px + r[1] * py + r[2] * pz;
    shadow[k + 1] = r[3] * px + r[4] * py + r[5] * pz;
    const z = r[6] * px + r[7] * py + r[8] * pz;
    heights[n] = z;
    if (z < low[2]) low[2] = z;
    if (z > high) high = z;
  }
  const outline = hull2(shadow);
  let right = -Infinity;
  let back = -Infinity;
  for (let k = 0; k < outline.length; k += 2) {
    if (outline[k] < low[0]) low[0] = outline[k];
    if (outline[k] > right) right = outline[k];
    if (outline[k + 1] < low[1]) low[1] = outline[k + 1];
    if (outline[k + 1] > back) back = outline[k + 1];
  }
  const contact: number[] = [];
  for (let n = 0; n < heights.length; n++) {
    if (heights[n] - low[2] <= touchMm) contact.push(shadow[2 * n] - low[0], shadow[2 * n + 1] - low[1]);
  }
  const foot = hull2(contact);
  const c = [0, 1, 2].map((k) => r[3 * k] * centre[0] + r[3 * k + 1] * centre[1] + r[3 * k + 2] * centre[2] - low[k]);
  return {
    minMm: [low[0], low[1], low[2]],
    sizeMm: [right - low[0], back - low[1], high - low[2]],
    shadow: outline.map((v, i) => v - low[i % 2]),
    contact: foot,
    tipDeg: (Math.atan2(Math.max(0, depthInside(foot, c[0], c[1])), c[2]) * 180) / Math.PI,
  };
}

/** Only height and lean of a direction, for scoring many of them. */
export function leanOf(
  blocks: PointBlocks,
  centre: Vec3,
  down: Vec3,
  touchMm: number,
): { lowestMm: number; heightMm: number; tipDeg: number } {
  const [x, y, z] = down;
  const low = lowestAlong(blocks, -x, -y, -z);
  const high = -lowestAlong(blocks, x, y, z);
  const touching: number[] = [];
  pointsBelow(blocks, -x, -y, -z, low + touchMm, touching);
  const r = rotationFor(down);
  const contact = new Float64Array((2 * touching.length) / 3);
  for (let i = 0, k = 0; i < touching.length; i += 3) {
    const [px, py, pz] = [touching[i], touching[i + 1], touching[i + 2]];
    contact[k++] = r[0] * px + r[1] * py + r[2] * pz;
    contact[k++] = r[3] * px + r[4] * py + r[5] * pz;
  }
  const [cx, cy, cz] = centre;
  const at = depthInside(hull2(contact), r[0] * cx + r[1] * cy + r[2] * cz, r[3] * cx + r[4] * cy + r[5] * cz);
  const tip = Math.atan2(Math.max(0, at), -(cx * x + cy * y + cz * z) - low);
  return { lowestMm: low, heightMm: high - low, tipDeg: (tip * 180) / Math.PI };
}

/** Distance to the nearest edge of a counter-clockwise polygon, negative outside; 0 for a point or a line. */
function depthInside(xy: Float64Array, x: number, y: number): number {
  if (xy.length < 6) return 0;
  let least = Infinity;
  for (let i = 0, j = xy.length - 2; i < xy.length; j = i, i += 2) {
    const dx = xy[i] - xy[j];
    const dy = xy[i + 1] - xy[j + 1];
    least = Math.min(least, (dx * (y - xy[j + 1]) - dy * (x - xy[j])) / Math.hypot(dx, dy));
  }
  return least;
}

/** Area of a counter-clockwise polygon, x, y pairs. */
export function areaOf(xy: Float64Array): number {
  let sum = 0;
  for (let i = 0, j = xy.length - 2; i < xy.length; j = i, i += 2) sum += xy[j] * xy[i + 1] - xy[i] * xy[j + 1];
  return sum / 2;
}

/**
 * The turn about z after which the box around the hull is smallest, its longer side along x.
 * One side of the smallest rectangle lies along an edge of the hull (Freeman, Shapira 1975, from memory).
 */
export function squareUp(hull: Float64Array): { turnRad: number; areaMm2: number } {
  let best = { turnRad: 0, areaMm2: Infinity };
  for (let i = 0, j = hull.length - 2; i < hull.length; j = i, i += 2) {
    const rad = Math.atan2(hull[i + 1] - hull[j + 1], hull[i] - hull[j]);
    const [w, d] = boxAt(hull, -rad);
    if (w * d >= best.areaMm2 * (1 - 1e-9)) continue;
    best = { turnRad: w >= d ? -rad : Math.PI / 2 - rad, areaMm2: w * d };
  }
  // A half turn changes nothing: keep the smaller of the two.
  const half = Math.round(best.turnRad / Math.PI) * Math.PI;
  return { turnRad: best.turnRad - half, areaMm2: best.areaMm2 };
}

export function boxAt(hull: Float64Array, rad: number): readonly [number, number] {
  const c = Math.cos(rad);
  const s = Math.sin(rad);
  let [left, right, front, back] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < hull.length; i += 2) {
    const x = c * hull[i] - s * hull[i + 1];
    const y = s * hull[i] + c * hull[i + 1];
    left = Math.min(left, x);
    right = Math.max(right, x);
    front = Math.min(front, y);
    back = Math.max(back, y);
  }
  return [right - left, back - front];
}
