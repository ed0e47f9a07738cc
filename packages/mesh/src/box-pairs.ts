import { type BoxOrder, boxesMeet, GUARDS, packBox, WORDS } from './box-order.ts';

const BLOCK = 8; // triangles per lowest box: 4, 8 and 16 were tried on a million triangles, see DECISIONS.md
export const FAN = 4;

/**
 * Visits each pair of places whose closed boxes meet, once, the lower place first, until the visitor returns false.
 * Blocks of neighbours are compared with the tree of block boxes; time near linear in triangles plus pairs.
 * @returns whether all pairs were visited
 */
export function visitBoxPairs(sorted: BoxOrder, visit: (i: number, j: number) => boolean): boolean {
  if (sorted.order.length === 0) return true;
  const levels = boxLevels(sorted.boxes);
  const tree: Tree = {
    levels,
    spans: levels.map((_, level) => FAN ** level),
    stack: new Int32Array(levels.length * FAN + 1),
    levelStack: new Uint8Array(levels.length * FAN + 1),
  };
  // A call per block: a running function is not replaced by its optimised code, the next call is.
  for (let block = 0; block < levels[0].length / WORDS; block++) {
    if (!visitFrom(block, tree, sorted, visit)) return false;
  }
  return true;
}

type Tree = Readonly<{
  levels: readonly Int32Array[];
  /** blocks under a node of each level */
  spans: readonly number[];
  stack: Int32Array;
  levelStack: Uint8Array;
}>;

/** Compares one block with itself and all later ones. */
function visitFrom(
  block: number,
  { levels, spans, stack, levelStack }: Tree,
  { order, boxes }: BoxOrder,
  visit: (i: number, j: number) => boolean,
): boolean {
  const blocks = levels[0];
  const least = blocks[block * WORDS];
  const most = blocks[block * WORDS + 1] | GUARDS;
  const heights = blocks[block * WORDS + 2];
  stack[0] = 0;
  levelStack[0] = levels.length - 1;
  for (let depth = 1; depth > 0; ) {
    depth--;
    const node = stack[depth];
    const level = levelStack[depth];
    if (level === 0) {
      if (!visitBlocks(order.length, boxes, blocks, block, node, visit)) return false;
      continue;
    }
    const below = levels[level - 1];
    const end = Math.min((node + 1) * FAN, below.length / WORDS);
    const span = spans[level - 1];
    for (let child = node * FAN; child < end; child++) {
      if ((child + 1) * span <= block) continue; // all its blocks come earlier and have been compared with this one
      if (!boxesMeet(least, most, heights, below, child * WORDS)) continue;
      stack[depth] = child;
      levelStack[depth++] = level - 1;
    }
  }
  return true;
}

/** Boxes of blocks, of groups of blocks, and so on up to one box. */
export function boxLevels(boxes: Int32Array): Int32Array[] {
  const levels = [grouped(boxes, BLOCK)];
  for (let top = levels[0]; top.length > WORDS; ) {
    top = grouped(top, FAN);
    levels.push(top);
  }
  return levels;
}

function grouped(boxes: Int32Array, size: number): Int32Array {
  const count = boxes.length / WORDS;
  const out = new Int32Array(WORDS * Math.ceil(count / size));
  for (let g = 0; g < out.length / WORDS; g++) {
    let x0 = 0x7fff;
    let y0 = 0x7fff;
    let z0 = 0x7fff;
    let x1 = 0;
    let y1 = 0;
    let z1 = 0;
    for (let i = g * size; i < Math.min((g + 1) * size, count); i++) {
      const o = i * WORDS;
      x0 = Math.min(x0, boxes[o] >>> 16);
      y0 = Math.min(y0, boxes[o] & 0x7fff);
      z0 = Math.min(z0, boxes[o + 2] >>> 16);
      x1 = Math.max(x1, boxes[o + 1] >>> 16);
      y1 = Math.max(y1, boxes[o + 1] & 0x7fff);
      z1 = Math.max(z1, boxes[o + 3] >>> 16);
    }
    packBox(out, g * WORDS, x0, y0, z0, x1, y1, z1);
  }
  return out;
}

function visitBlocks(
  count: number,
  boxes: Int32Array,
  blocks: Int32Array,
  lower: number,
  upper: number,
  visit: (i: number, j: number) => boolean,
): boolean {
  const iEnd = Math.min((lower + 1) * BLOCK, count);
  const jEnd = Math.min((upper + 1) * BLOCK, count);
  for (let i = lower * BLOCK; i < iEnd; i++) {
    const least = boxes[i * WORDS];
    const most = boxes[i * WORDS + 1] | GUARDS;
    const heights = boxes[i * WORDS + 2];
    if (!boxesMeet(least, most, heights, blocks, upper * WORDS)) continue;
    for (let j = lower === upper ? i + 1 : upper * BLOCK; j < jEnd; j++) {
      if (boxesMeet(least, most, heights, boxes, j * WORDS) && !visit(i, j)) return false;
    }
  }
  return true;
}
