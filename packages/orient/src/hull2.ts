import { orient2d } from 'robust-predicates';

/**
 * Convex hull of points in the plane, counter-clockwise from the lowest x (then lowest y), without points that lie on
 * an edge; exact whatever the coordinates, because every turn is decided by an exact predicate.
 * @param xy x, y pairs in mm
 * @returns x, y pairs; one or two points when all points are equal or on a line
 * Source: monotone chain, Andrew 1979 (from memory)
 */
export function hull2(xy: ArrayLike<number>): Float64Array {
  const order = xy.length < 2 * MANY ? everyPoint(xy) : outerPoints(xy);
  order.sort((a, b) => xy[2 * a] - xy[2 * b] || xy[2 * a + 1] - xy[2 * b + 1] || a - b);
  const chain = new Uint32Array(2 * order.length + 1);
  let size = halfChain(xy, order, 1, chain, 0);
  if (size > 1) size = halfChain(xy, order, -1, chain, size - 1) - 1;
  const hull = new Float64Array(2 * size);
  for (let i = 0; i < size; i++) {
    hull[2 * i] = xy[2 * chain[i]];
    hull[2 * i + 1] = xy[2 * chain[i] + 1];
  }
  return hull;
}

/** Above this looking for points that cannot be corners pays. */
const MANY = 100;

function everyPoint(xy: ArrayLike<number>): Uint32Array {
  const order = new Uint32Array(xy.length >> 1);
  for (let i = 0; i < order.length; i++) order[i] = i;
  return order;
}

/**
 * Without the points that lie well inside the octagon of the farthest ones in eight directions (Akl, Toussaint 1978, from
 * memory); what rounding leaves in doubt stays.
 */
function outerPoints(xy: ArrayLike<number>): Uint32Array {
  const far = new Float64Array(8).fill(-Infinity);
  const corner = new Uint32Array(8);
  for (let i = 0; i < xy.length; i += 2) {
    const x = xy[i];
    const y = xy[i + 1];
    if (x > far[0]) [far[0], corner[0]] = [x, i];
    if (x + y > far[1]) [far[1], corner[1]] = [x + y, i];
    if (y > far[2]) [far[2], corner[2]] = [y, i];
    if (y - x > far[3]) [far[3], corner[3]] = [y - x, i];
    if (-x > far[4]) [far[4], corner[4]] = [-x, i];
    if (-x - y > far[5]) [far[5], corner[5]] = [-x - y, i];
    if (-y > far[6]) [far[6], corner[6]] = [-y, i];
    if (x - y > far[7]) [far[7], corner[7]] = [x - y, i];
  }
  const size = Math.max(far[0] + far[4], far[2] + far[6]);
  const margin = 1e-12 * (size + Math.abs(far[0]) + Math.abs(far[2])) * size;
  const edges: number[] = [];
  for (let k = 0; k < 8; k++) {
    const [a, b] = [corner[k], corner[(k + 1) % 8]];
    if (a !== b) edges.push(xy[a], xy[a + 1], xy[b] - xy[a], xy[b + 1] - xy[a + 1]);
  }
  const kept = new Uint32Array(xy.length >> 1);
  let count = 0;
  for (let i = 0; i < xy.length; i += 2) {
    let inside = true;
    for (let e = 0; inside && e < edges.length; e += 4) {
      inside = edges[e + 2] * (xy[i + 1] - edges[e + 1]) - edges[e + 3] * (xy[i] - edges[e]) > margin;
    }
    if (!inside) kept[count++] = i >> 1;
  }
  return kept.slice(0, count);
}

/**
 * The plane hull without corners nearer than a tenth of a nanometre to the one before. A turned box has its corners twice, some
 * 1e-14 mm apart, and the edge between two such points may look anywhere: for questions about edges it must go.
 */
export function smoothHull2(xy: ArrayLike<number>): Float64Array {
  const hull = hull2(xy);
  const kept: number[] = [];
  for (let i = 0; i < hull.length; i += 2) {
    const before = kept.length === 0 ? [NaN, NaN] : kept.slice(-2);
    const last = i === hull.length - 2 && kept.length > 2;
    const near = (x: number, y: number): boolean => Math.hypot(hull[i] - x, hull[i + 1] - y) < SAME_CORNER_MM;
    if (near(before[0], before[1]) || (last && near(kept[0], kept[1]))) continue;
    kept.push(hull[i], hull[i + 1]);
  }
  // Dropping corners may leave one that rounding put on the wrong side of its neighbours.
  return hull2(kept);
}

const SAME_CORNER_MM = 1e-7;

/** Appends the lower (step 1) or the upper chain (step −1) to `chain` from `base` on; returns the new length. */
function halfChain(xy: ArrayLike<number>, order: Uint32Array, step: 1 | -1, chain: Uint32Array, base: number): number {
  let size = base;
  for (let k = 0; k < order.length; k++) {
    const p = order[step === 1 ? k : order.length - 1 - k];
    const x = xy[2 * p];
    const y = xy[2 * p + 1];
    if (size > base && xy[2 * chain[size - 1]] === x && xy[2 * chain[size - 1] + 1] === y) continue;
    while (size - base >= 2 && !turnsLeft(xy, chain[size - 2], chain[size - 1], x, y)) size--;
    chain[size++] = p;
  }
  return size;
}

function turnsLeft(xy: ArrayLike<number>, a: number, b: number, x: number, y: number): boolean {
  // The predicate is negative for a counter-clockwise turn: its y axis points down.
  return orient2d(xy[2 * a], xy[2 * a + 1], xy[2 * b], xy[2 * b + 1], x, y) < 0;
}
