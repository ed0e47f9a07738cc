import { orient2d } from 'robust-predicates';

/**
 * Convex hull of points in the plane, counter-clockwise from the lowest x (then lowest y), without points that lie on
 * an edge; exact whatever the coordinates, because every turn is decided by an exact predicate.
 * @param xy x, y pairs in mm
 * @returns x, y pairs; one or two points when all points are equal or on a line
 * Source: monotone chain, Andrew 1979 (from memory)
 */
export function hull2(xy: ArrayLike<number>): Float64Array {
  const order = new Uint32Array(xy.length >> 1);
  for (let i = 0; i < order.length; i++) order[i] = i;
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
