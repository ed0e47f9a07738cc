/** A bounded convex region: nx·x + ny·y ≤ reach, unit normals by ascending angle, one for each edge. */
export type HalfPlanes = Readonly<{ nx: Float64Array; ny: Float64Array; reach: Float64Array }>;

/** @param hull x, y pairs of a strictly convex polygon with at least three corners, counter-clockwise */
export function halfPlanes(hull: ArrayLike<number>, insetMm = 0): HalfPlanes {
  const n = hull.length >> 1;
  const nx = new Float64Array(n);
  const ny = new Float64Array(n);
  const reach = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const dx = hull[2 * j] - hull[2 * i];
    const dy = hull[2 * j + 1] - hull[2 * i + 1];
    const length = Math.hypot(dx, dy);
    nx[i] = dy / length;
    ny[i] = -dx / length;
    reach[i] = nx[i] * hull[2 * i] + ny[i] * hull[2 * i + 1] - insetMm;
  }
  return { nx, ny, reach };
}

// A pivot or violation smaller than this (mm, unit normals) is rounding: coordinates are below 1e3, double has 16 digits.
const TINY = 1e-11;

/**
 * The largest s for which some point t has n·t + weight·s ≤ reach for all half-planes. A basis of three half-planes
 * holds the answer; it is exchanged one by one while a fourth is broken, so each intermediate s is a proven upper bound
 * and the last one the exact optimum. Kept between calls, the basis of a neighbouring problem is mostly right already.
 * @param weight > 0 for each half-plane
 * @param basis three indices, in and out (start with `firstBasis`)
 * @returns s and t
 * Source: dual simplex method in three variables, Lemke 1954 (from memory)
 */
export function largestScale(
  planes: HalfPlanes,
  weight: ArrayLike<number>,
  basis: Int32Array,
): { s: number; x: number; y: number } {
  const { nx, ny, reach } = planes;
  const answer = { s: 0, x: 0, y: 0 };
  const column = (i: number): readonly [number, number, number] => [nx[i], ny[i], weight[i]];
  for (let round = 0; round < 4 * nx.length + 20; round++) {
    const rows = inverse3(column(basis[0]), column(basis[1]), column(basis[2]));
    const [r0, r1, r2] = [reach[basis[0]], reach[basis[1]], reach[basis[2]]];
    answer.x = r0 * rows[0] + r1 * rows[3] + r2 * rows[6];
    answer.y = r0 * rows[1] + r1 * rows[4] + r2 * rows[7];
    answer.s = r0 * rows[2] + r1 * rows[5] + r2 * rows[8];
    let broken = -1;
    let worst = TINY;
    for (let i = 0; i < nx.length; i++) {
      const over = nx[i] * answer.x + ny[i] * answer.y + weight[i] * answer.s - reach[i];
      if (over > worst) {
        worst = over;
        broken = i;
      }
    }
    if (broken < 0) break;
    let leaving = -1;
    let least = Infinity;
    for (let k = 0; k < 3; k++) {
      const alpha = rows[3 * k] * nx[broken] + rows[3 * k + 1] * ny[broken] + rows[3 * k + 2] * weight[broken];
      const share = rows[3 * k + 2] / alpha;
      if (alpha > TINY && share < least) {
        least = share;
        leaving = k;
      }
    }
    if (leaving < 0) break;
    basis[leaving] = broken;
  }
  return answer;
}

/** Three half-planes whose normals enclose the origin, so that they alone bound the region. */
export function firstBasis(planes: HalfPlanes): Int32Array {
  const { nx, ny } = planes;
  const n = nx.length;
  // The last normal less than half a turn after normal 0, and its successor, hold the opposite of normal 0 between them.
  let last = 1;
  while (last + 1 < n && nx[0] * ny[last + 1] - ny[0] * nx[last + 1] > TINY) last++;
  return Int32Array.of(0, last, (last + 1) % n);
}

/** Rows of the inverse of the matrix with the given columns: row k gives the share of column k. */
function inverse3(
  a: readonly [number, number, number],
  b: readonly [number, number, number],
  c: readonly [number, number, number],
): readonly number[] {
  const x = b[1] * c[2] - b[2] * c[1];
  const y = b[2] * c[0] - b[0] * c[2];
  const z = b[0] * c[1] - b[1] * c[0];
  const det = a[0] * x + a[1] * y + a[2] * z;
  return [
    x / det,
    y / det,
    z / det,
    (c[1] * a[2] - c[2] * a[1]) / det,
    (c[2] * a[0] - c[0] * a[2]) / det,
    (c[0] * a[1] - c[1] * a[0]) / det,
    (a[1] * b[2] - a[2] * b[1]) / det,
    (a[2] * b[0] - a[0] * b[2]) / det,
    (a[0] * b[1] - a[1] * b[0]) / det,
  ];
}
