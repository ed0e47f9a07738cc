/**
 * Points gathered in blocks that lie close together, each with its box, so that the lowest and highest of them along a
 * direction are found exactly by looking into the few blocks that can hold them.
 */
export type PointBlocks = Readonly<{
  /** x, y, z; those of block k from 3·k·BLOCK on */
  points: Float64Array;
  /** per block: middle x, y, z and half size x, y, z */
  boxes: Float64Array;
}>;

/** Small enough that a look into one is short, large enough that their list is: 64 and 256 were no faster on a million faces. */
const BLOCK = 128;

/** @param positions x, y, z in an order in which neighbours are mostly near each other, as welding leaves them */
export function pointBlocks(positions: ArrayLike<number>): PointBlocks {
  const points = Float64Array.from(positions);
  const count = Math.ceil(points.length / (3 * BLOCK));
  const boxes = new Float64Array(6 * count);
  for (let k = 0; k < count; k++) {
    let lowX = Infinity;
    let lowY = Infinity;
    let lowZ = Infinity;
    let highX = -Infinity;
    let highY = -Infinity;
    let highZ = -Infinity;
    const end = Math.min(points.length, 3 * BLOCK * (k + 1));
    for (let i = 3 * BLOCK * k; i < end; i += 3) {
      const x = points[i];
      const y = points[i + 1];
      const z = points[i + 2];
      if (x < lowX) lowX = x;
      if (x > highX) highX = x;
      if (y < lowY) lowY = y;
      if (y > highY) highY = y;
      if (z < lowZ) lowZ = z;
      if (z > highZ) highZ = z;
    }
    boxes[6 * k] = (lowX + highX) / 2;
    boxes[6 * k + 1] = (lowY + highY) / 2;
    boxes[6 * k + 2] = (lowZ + highZ) / 2;
    boxes[6 * k + 3] = (highX - lowX) / 2;
    boxes[6 * k + 4] = (highY - lowY) / 2;
    boxes[6 * k + 5] = (highZ - lowZ) / 2;
  }
  return { points, boxes };
}

/** The least x·dx + y·dy + z·dz of all points: exact, since a block is left out only when its box lies above another's point. */
export function lowestAlong({ points, boxes }: PointBlocks, dx: number, dy: number, dz: number): number {
  const sx = Math.abs(dx);
  const sy = Math.abs(dy);
  const sz = Math.abs(dz);
  let first = 0;
  let least = Infinity;
  for (let k = 0; k < boxes.length; k += 6) {
    const bound =
      boxes[k] * dx +
      boxes[k + 1] * dy +
      boxes[k + 2] * dz -
      (boxes[k + 3] * sx + boxes[k + 4] * sy + boxes[k + 5] * sz);
    if (bound < least) {
      least = bound;
      first = k / 6;
    }
  }
  // A block's rounded bound may lie above its rounded point by a few units in the last place.
  const slack = 1e-12 * Math.abs(least);
  let low = lowestIn(points, first, dx, dy, dz, Infinity);
  for (let k = 0; k < boxes.length; k += 6) {
    const bound =
      boxes[k] * dx +
      boxes[k + 1] * dy +
      boxes[k + 2] * dz -
      (boxes[k + 3] * sx + boxes[k + 4] * sy + boxes[k + 5] * sz);
    if (bound - slack < low) low = lowestIn(points, k / 6, dx, dy, dz, low);
  }
  return low;
}

/** Appends the points that lie at most at `high` along the direction, x, y, z. */
export function pointsBelow(
  { points, boxes }: PointBlocks,
  dx: number,
  dy: number,
  dz: number,
  high: number,
  into: number[],
): void {
  const sx = Math.abs(dx);
  const sy = Math.abs(dy);
  const sz = Math.abs(dz);
  const slack = 1e-12 * Math.abs(high);
  for (let k = 0; k < boxes.length; k += 6) {
    const bound =
      boxes[k] * dx +
      boxes[k + 1] * dy +
      boxes[k + 2] * dz -
      (boxes[k + 3] * sx + boxes[k + 4] * sy + boxes[k + 5] * sz);
    if (bound - slack > high) continue;
    const end = Math.min(points.length, 3 * BLOCK * (k / 6 + 1));
    for (let i = 3 * BLOCK * (k / 6); i < end; i += 3) {
      if (points[i] * dx + points[i + 1] * dy + points[i + 2] * dz > high) continue;
      into.push(points[i], points[i + 1], points[i + 2]);
    }
  }
}

function lowestIn(points: Float64Array, block: number, dx: number, dy: number, dz: number, low: number): number {
  const end = Math.min(points.length, 3 * BLOCK * (block + 1));
  let least = low;
  for (let i = 3 * BLOCK * block; i < end; i += 3) {
    const at = points[i] * dx + points[i + 1] * dy + points[i + 2] * dz;
    if (at < least) least = at;
  }
  return least;
}
