/**
 * Splits one polygon in space into its n − 2 triangles; every corner stays, so neighbouring faces keep matching edges.
 * A convex polygon is split from its first corner; a concave one by cutting ears in the plane that it shows best.
 * @param points flat x, y, z list
 * @param corners indices into points, in the polygon's order; the triangles keep its facing
 * @param emit called with three indices into points per triangle
 */
export function polygonTriangles(
  points: Float64Array,
  corners: readonly number[],
  emit: (a: number, b: number, c: number) => void,
): void {
  const n = corners.length;
  if (n < 3) return;
  if (n > 3) {
    const flat = projected(points, corners);
    if (!isConvex(flat)) {
      cutEars(flat, (i, j, k) => emit(corners[i], corners[j], corners[k]));
      return;
    }
  }
  for (let k = 2; k < n; k++) emit(corners[0], corners[k - 1], corners[k]);
}

/** The polygon in the coordinate plane that its normal is nearest to, counter-clockwise. */
function projected(points: Float64Array, corners: readonly number[]): Float64Array {
  let nx = 0;
  let ny = 0;
  let nz = 0;
  const n = corners.length;
  const o = 3 * corners[0]; // sums about the first corner, so that distance from the origin costs no digits
  for (let i = 0; i < n; i++) {
    const a = 3 * corners[i];
    const b = 3 * corners[(i + 1) % n];
    const ax = points[a] - points[o];
    const ay = points[a + 1] - points[o + 1];
    const az = points[a + 2] - points[o + 2];
    const bx = points[b] - points[o];
    const by = points[b + 1] - points[o + 1];
    const bz = points[b + 2] - points[o + 2];
    nx += ay * bz - az * by;
    ny += az * bx - ax * bz;
    nz += ax * by - ay * bx;
  }
  const [x, y, z] = [Math.abs(nx), Math.abs(ny), Math.abs(nz)];
  // u × v points along the normal, so the outline runs counter-clockwise.
  const axes: readonly [number, number, number] = z >= x && z >= y ? [0, 1, nz] : x >= y ? [1, 2, nx] : [2, 0, ny];
  const [u, v] = axes[2] < 0 ? [axes[1], axes[0]] : [axes[0], axes[1]];
  const flat = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    flat[2 * i] = points[3 * corners[i] + u];
    flat[2 * i + 1] = points[3 * corners[i] + v];
  }
  return flat;
}

function turn(xy: Float64Array, i: number, j: number, k: number): number {
  const ax = xy[2 * i];
  const ay = xy[2 * i + 1];
  return (xy[2 * j] - ax) * (xy[2 * k + 1] - ay) - (xy[2 * j + 1] - ay) * (xy[2 * k] - ax);
}

/** No corner turns right, and the outline goes round once (a star turns left everywhere, but twice round). */
function isConvex(xy: Float64Array): boolean {
  const n = xy.length / 2;
  let rises = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const k = (i + 2) % n;
    if (turn(xy, i, j, k) < 0) return false;
    if (above(xy, i, j) && !above(xy, j, k)) rises++;
  }
  return rises <= 1;
}

function above(xy: Float64Array, from: number, to: number): boolean {
  const dy = xy[2 * to + 1] - xy[2 * from + 1];
  return dy > 0 || (dy === 0 && xy[2 * to] > xy[2 * from]);
}

/**
 * Ear cutting (Meisters 1975): a left-turning corner is cut off when no other corner lies in its triangle. Corners that
 * coincide with one of the triangle's own do not block it, as outlines with a bridge to a hole repeat theirs.
 */
function cutEars(xy: Float64Array, emit: (i: number, j: number, k: number) => void): void {
  const left = Array.from({ length: xy.length / 2 }, (_, i) => i);
  let at = 0;
  let tried = 0;
  while (left.length > 3) {
    const n = left.length;
    const i = left[(at + n - 1) % n];
    const j = left[at % n];
    const k = left[(at + 1) % n];
    // After one vain round the outline crosses itself or what is left lies on a line: cut anyway, to end with n − 2 triangles.
    const forced = tried >= n;
    if (forced || (turn(xy, i, j, k) > 0 && isFree(xy, left, i, j, k))) {
      emit(i, j, k);
      left.splice(at % n, 1);
      at = at % n === n - 1 ? 0 : at + 1;
      tried = 0;
    } else {
      at = (at + 1) % n;
      tried++;
    }
  }
  emit(left[0], left[1], left[2]);
}

function isFree(xy: Float64Array, left: readonly number[], i: number, j: number, k: number): boolean {
  for (const p of left) {
    if (p === i || p === j || p === k || same(xy, p, i) || same(xy, p, j) || same(xy, p, k)) continue;
    if (turn(xy, i, j, p) >= 0 && turn(xy, j, k, p) >= 0 && turn(xy, k, i, p) >= 0) return false;
  }
  return true;
}

function same(xy: Float64Array, p: number, q: number): boolean {
  return xy[2 * p] === xy[2 * q] && xy[2 * p + 1] === xy[2 * q + 1];
}
