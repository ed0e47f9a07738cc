import { sortedPlaces } from './sorted-places.ts';

/**
 * Triangles in an order in which neighbours in the list are neighbours in space, with their boxes in that order.
 * A box is four words: least x and y, most x and y, least z and falling most z, most z and falling least z, fifteen bits each
 * in half a word, on a grid over the whole mesh. `boxesMeet` compares two with three subtractions and one branch.
 */
export type BoxOrder = Readonly<{
  /** triangle numbers */
  order: Uint32Array;
  boxes: Int32Array;
}>;

export const WORDS = 4;
const TOP = 0x7fff;
export const GUARDS: number = 0x80008000 | 0; // one bit above each half: it survives the subtraction when the half is not less

/**
 * Whether a box meets the one at j: first and third word of the one, and its second with guards, held in locals by the loops.
 * Rounding to the grid never parts two that meet: it keeps the order of numbers.
 */
export function boxesMeet(least: number, mostGuarded: number, heights: number, boxes: Int32Array, j: number): boolean {
  const one = ((boxes[j + 1] | GUARDS) - least) | 0;
  const two = (mostGuarded - boxes[j]) | 0;
  const three = ((boxes[j + 3] | GUARDS) - heights) | 0;
  return (one & two & three & GUARDS) === GUARDS;
}

export function packBox(
  boxes: Int32Array,
  o: number,
  x0: number,
  y0: number,
  z0: number,
  x1: number,
  y1: number,
  z1: number,
): void {
  boxes[o] = (x0 << 16) | y0;
  boxes[o + 1] = (x1 << 16) | y1;
  boxes[o + 2] = (z0 << 16) | (TOP - z1);
  boxes[o + 3] = (z1 << 16) | (TOP - z0);
}

/**
 * Sorts triangles by size class, then along a Z-curve through their box centres (Morton 1966, from memory). Large triangles
 * stand apart, because one of them among small ones would blow up the box of its whole block.
 * @param p 3·n coordinates
 * @param skip one mark per triangle: 1 leaves it out
 */
export function boxOrder(p: Float64Array, triangles: Uint32Array, skip: Uint8Array): BoxOrder {
  const { cells, scale } = gridCells(p, triangles);
  const count = triangles.length / 3;
  const listed = new Uint32Array(count);
  const keys = new Uint32Array(count);
  const boxes = new Int32Array(count * WORDS);
  let n = 0;
  for (let t = 0; t < count; t++) {
    if (skip[t] !== 0) continue;
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const x0 = Math.min(cells[a], cells[b], cells[c]);
    const y0 = Math.min(cells[a + 1], cells[b + 1], cells[c + 1]);
    const z0 = Math.min(cells[a + 2], cells[b + 2], cells[c + 2]);
    const x1 = Math.max(cells[a], cells[b], cells[c]);
    const y1 = Math.max(cells[a + 1], cells[b + 1], cells[c + 1]);
    const z1 = Math.max(cells[a + 2], cells[b + 2], cells[c + 2]);
    packBox(boxes, n * WORDS, x0, y0, z0, x1, y1, z1);
    keys[n] = placeKey(x0 + x1, y0 + y1, z0 + z1, Math.max(x1 - x0, y1 - y0, z1 - z0));
    listed[n++] = t;
  }
  if (scale === 0) n = 0; // all corners at one point: nothing to compare
  const places = sortedPlaces(keys.subarray(0, n));
  const order = new Uint32Array(n);
  const ordered = new Int32Array(n * WORDS);
  for (let i = 0, o = 0; i < n; i++, o += WORDS) {
    const from = places[i] * WORDS;
    order[i] = listed[places[i]];
    ordered[o] = boxes[from];
    ordered[o + 1] = boxes[from + 1];
    ordered[o + 2] = boxes[from + 2];
    ordered[o + 3] = boxes[from + 3];
  }
  return { order, boxes: ordered };
}

/** Every coordinate on a grid of 2¹⁵ steps per axis over the box of the mesh. */
function gridCells(p: Float64Array, triangles: Uint32Array): { cells: Uint16Array; scale: number } {
  const used = new Uint8Array(p.length / 3);
  for (let k = 0; k < triangles.length; k++) used[triangles[k]] = 1;
  const low = [Infinity, Infinity, Infinity];
  let extent = 0;
  for (let k = 0; k < 3; k++) {
    let min = Infinity;
    let max = -Infinity;
    for (let v = 0; v < used.length; v++) {
      if (used[v] === 0) continue;
      const x = p[3 * v + k];
      if (x < min) min = x;
      if (x > max) max = x;
    }
    low[k] = min;
    extent = Math.max(extent, max - min);
  }
  const scale = extent > 0 ? TOP / extent : 0;
  const cells = new Uint16Array(p.length);
  for (let k = 0; k < 3; k++) {
    const from = low[k];
    // Clamped, because the product may round above the last step; order is kept.
    for (let o = k; o < p.length; o += 3) cells[o] = Math.max(0, Math.min((p[o] - from) * scale, TOP));
  }
  return { cells, scale };
}

/** Two bits of size class above thirty bits of place, from sums of least and most (16 bits) and the longest side (15 bits). */
function placeKey(x: number, y: number, z: number, size: number): number {
  const sizeClass = size > TOP / 8 ? 3 : size > TOP / 32 ? 2 : size > TOP / 128 ? 1 : 0;
  return ((sizeClass << 30) | (spread(x >> 6) << 2) | (spread(y >> 6) << 1) | spread(z >> 6)) >>> 0;
}

/** Puts two empty bits behind each of ten bits. */
function spread(value: number): number {
  let v = value & 0x3ff;
  v = (v | (v << 16)) & 0x30000ff;
  v = (v | (v << 8)) & 0x300f00f;
  v = (v | (v << 4)) & 0x30c30c3;
  return (v | (v << 2)) & 0x9249249;
}
