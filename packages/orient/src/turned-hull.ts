/**
 * A convex polygon prepared for questions at many turns: which corner lies farthest in a direction, by bisection over
 * the angles of its edges' normals.
 */
export type TurnedHull = Readonly<{ x: Float64Array; y: Float64Array; normalRad: Float64Array }>;

/** @param hull x, y pairs of a strictly convex polygon, corners at least 1e-7 mm apart (smoothHull2), counter-clockwise (one and two points are allowed) */
export function turnedHull(hull: ArrayLike<number>): TurnedHull {
  const n = hull.length >> 1;
  const angle = (i: number): number => {
    const j = (i + 1) % n;
    return norm(Math.atan2(hull[2 * i] - hull[2 * j], hull[2 * j + 1] - hull[2 * i + 1]));
  };
  // Normals ascend but for one step back by more than half a turn. The least of them is no mark: rounding may swap two that
  // are nearly equal, and a start between those two would put a long edge at the wrong end.
  let first = 0;
  for (let i = 0; i < n; i++) if (angle(i) < angle((i + n - 1) % n) - 1) first = i;
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  const normalRad = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const i = (first + k) % n;
    // Rounding may put the normals of two short edges in the wrong order, and bisection wants them ascending.
    normalRad[k] = n === 1 ? 0 : Math.max(angle(i), k === 0 ? 0 : normalRad[k - 1]);
    // Corner k ends the edge before normal k, so it is the farthest for directions up to normal k.
    x[k] = hull[2 * i];
    y[k] = hull[2 * i + 1];
  }
  return { x, y, normalRad };
}

/** Index of the corner that lies farthest in the direction `rad` (fixed to the hull). */
export function farthestCorner(hull: TurnedHull, rad: number): number {
  const normals = hull.normalRad;
  const target = norm(rad);
  let low = 0;
  let high = normals.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (normals[mid] < target) low = mid + 1;
    else high = mid;
  }
  return low === normals.length ? 0 : low;
}

/** How far the hull, turned by `turnRad`, reaches in the fixed direction `rad`. */
export function reach(hull: TurnedHull, rad: number, turnRad: number): number {
  const k = farthestCorner(hull, rad - turnRad);
  return hull.x[k] * Math.cos(rad - turnRad) + hull.y[k] * Math.sin(rad - turnRad);
}

/** The same angle in [0, 2π). */
export function norm(rad: number): number {
  const turn = rad % (2 * Math.PI);
  const positive = turn < 0 ? turn + 2 * Math.PI : turn;
  return positive >= 2 * Math.PI ? 0 : positive;
}
