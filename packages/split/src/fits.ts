import type { Mesh, Ring, Vec3 } from '@stonehand/model';
import { convexHull, fitHull, hull2 } from '@stonehand/orient';
import { planeFrame, unit } from './plane.ts';

/** What splitting must know of a printer. */
export type Bed = Readonly<{ usable: Ring; heightMm: number; keepOut?: readonly Ring[] }>;

/** Corners of the convex hull, x y z in turn: all that a fit depends on. */
export type Corners = Float64Array;

export function cornersOf(mesh: Mesh): Corners {
  const { vertices } = convexHull(mesh.positions);
  const corners = new Float64Array(3 * vertices.length);
  for (let i = 0; i < vertices.length; i++) {
    for (let d = 0; d < 3; d++) corners[3 * i + d] = mesh.positions[3 * vertices[i] + d];
  }
  return corners;
}

/** Does the piece fit with `up` upwards, at any turn about it? Exact. */
export function fitsLying(corners: Corners, bed: Bed, up: Vec3, brimMm: number): boolean {
  const [low, high] = extentAlong(corners, up);
  if (high - low > bed.heightMm) return false;
  return fitHull(shadow(corners, up), bed.usable, { brimMm, keepOut: bed.keepOut ?? [] }).fits;
}

function shadow(corners: Corners, up: Vec3): Float64Array {
  const [axisX, axisY] = planeFrame(up);
  const xy = new Float64Array((2 * corners.length) / 3);
  for (let i = 0, k = 0; i < corners.length; i += 3, k += 2) {
    const [x, y, z] = [corners[i], corners[i + 1], corners[i + 2]];
    xy[k] = axisX[0] * x + axisX[1] * y + axisX[2] * z;
    xy[k + 1] = axisY[0] * x + axisY[1] * y + axisY[2] * z;
  }
  return hull2(xy);
}

/** counts: slabs along x, y and z. */
export type Grid = Readonly<{ pieces: number; share: number; counts: readonly number[] }>;

/**
 * How many pieces a grid of cuts along the mesh's axes would make of a part, and the same without rounding up: extents over
 * the sides of a bed's box, least over beds and over which way is up. An estimate to guide the search, not a bound.
 */
export function gridOf(corners: Corners, beds: readonly Bed[], brimMm: number): Grid {
  const extents = AXES.map((axis) => {
    const [low, high] = extentAlong(corners, axis);
    return high - low;
  });
  let pieces = Infinity;
  let share = Infinity;
  let counts: readonly number[] = [1, 1, 1];
  for (const { usable, heightMm } of beds) {
    const xs = usable.map((p) => p[0]);
    const ys = usable.map((p) => p[1]);
    const sides = [
      Math.max(...xs) - Math.min(...xs) - 2 * brimMm,
      Math.max(...ys) - Math.min(...ys) - 2 * brimMm,
      heightMm,
    ];
    for (const order of ORDERS) {
      const quotients = order.map((axis, k) => extents[axis] / Math.max(1, sides[k]));
      const count = quotients.reduce((product, q) => product * Math.max(1, Math.ceil(q - 1e-9)), 1);
      const smooth = quotients.reduce((product, q) => product * Math.max(1, q), 1);
      if (count < pieces || (count === pieces && smooth < share)) {
        pieces = count;
        share = smooth;
        counts = AXES.map((_, axis) => Math.max(1, Math.ceil(quotients[order.indexOf(axis)] - 1e-9)));
      }
    }
  }
  return { pieces, share, counts };
}

export const AXES: readonly Vec3[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
const ORDERS: readonly (readonly number[])[] = [
  [0, 1, 2],
  [0, 2, 1],
  [1, 0, 2],
  [1, 2, 0],
  [2, 0, 1],
  [2, 1, 0],
];

/** Axes of the mesh, then the two longest directions of the hull and what is square to them, where they differ from the axes. */
export function directionsOf(corners: Corners): Vec3[] {
  const directions: Vec3[] = [...AXES];
  const [a, b] = farthestCorners(corners, MOST_CORNERS);
  const long = unit([
    corners[3 * b] - corners[3 * a],
    corners[3 * b + 1] - corners[3 * a + 1],
    corners[3 * b + 2] - corners[3 * a + 2],
  ]);
  const [u, v] = planeFrame(long);
  for (const direction of [long, ...widestAcross(corners, u, v)]) {
    if (directions.every((known) => Math.abs(dot(known, direction)) < DISTINCT_COSINE)) directions.push(direction);
  }
  return directions;
}

/** Directions within 8° of each other count as one: cos 8°. A choice, to keep the search small. */
const DISTINCT_COSINE = Math.cos((8 * Math.PI) / 180);

/** For a direction to try, some of a smooth hull's thousands of corners do. */
const MOST_CORNERS = 500;

/** The pair of corners farthest apart; with `most`, of so many spread over the list. */
export function farthestCorners(corners: Corners, most: number = Infinity): readonly [number, number] {
  const step = 3 * Math.max(1, Math.ceil(corners.length / 3 / most));
  let best = -1;
  let pair: readonly [number, number] = [0, 0];
  for (let i = 0; i < corners.length; i += step) {
    for (let j = i + step; j < corners.length; j += step) {
      const d =
        (corners[i] - corners[j]) ** 2 +
        (corners[i + 1] - corners[j + 1]) ** 2 +
        (corners[i + 2] - corners[j + 2]) ** 2;
      if (d > best) {
        best = d;
        pair = [i / 3, j / 3];
      }
    }
  }
  return pair;
}

/** The direction square to the long axis in which the hull is narrowest (whole degrees), and the one square to it. */
function widestAcross(corners: Corners, u: Vec3, v: Vec3): Vec3[] {
  let best: Vec3 = u;
  let least = Infinity;
  for (let deg = 0; deg < 180; deg++) {
    const c = Math.cos((deg * Math.PI) / 180);
    const s = Math.sin((deg * Math.PI) / 180);
    const direction: Vec3 = [c * u[0] + s * v[0], c * u[1] + s * v[1], c * u[2] + s * v[2]];
    const [low, high] = extentAlong(corners, direction);
    if (high - low < least) {
      least = high - low;
      best = direction;
    }
  }
  const long = cross(u, v);
  return [best, cross(long, best)];
}

export function extentAlong(corners: Corners, direction: Vec3): readonly [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < corners.length; i += 3) {
    const h = direction[0] * corners[i] + direction[1] * corners[i + 1] + direction[2] * corners[i + 2];
    if (h < low) low = h;
    if (h > high) high = h;
  }
  return [low, high];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
