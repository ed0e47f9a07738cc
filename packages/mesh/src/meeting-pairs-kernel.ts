import { boxOrder, WORDS } from './box-order.ts';
import { boxLevels, FAN } from './box-pairs.ts';
import { aligned, giveBack, KERNEL_START, kernelWith, takeAway, words } from './kernel.ts';
import { flatTriangles } from './triangle-planes.ts';

/** Triangles, boxes or blocks of triangles per call: the next call runs the optimised code. */
const BLOCK = 8192;
/** Pairs that are handed over at a time. */
const ROOM = 16384;
const STACK_BYTES = 4096;
const LEVEL_BYTES = 12 * 32;
const ENDED_BY_BUDGET = 2;

/**
 * Pairs of triangles whose boxes meet and that no plane parts, found by the compiled kernel in the order of the plain loops.
 * @param p 3·n coordinates
 * @param visit the exact test
 * @returns whether all pairs were compared; undefined where there is no kernel, or not enough memory for it
 */
export function visitMeetingPairsByKernel(
  p: Float64Array,
  triangles: Uint32Array,
  budgetPairs: number,
  visit: (s: number, t: number) => void,
): boolean | undefined {
  const count = triangles.length / 3;
  if (budgetPairs > 0xffffffff) return undefined;
  const trianglesAt = aligned(KERNEL_START + STACK_BYTES + LEVEL_BYTES);
  const pointsAt = aligned(trianglesAt + triangles.byteLength);
  const planesAt = aligned(pointsAt + p.byteLength);
  const orderAt = aligned(planesAt + 32 * count);
  const outAt = aligned(orderAt + 4 * count);
  const boxesAt = aligned(outAt + 8 * ROOM);
  // The places and all levels above them: a third more than the blocks, and one for each level.
  const most = count + Math.ceil(count / 4) + 64;
  const kernel = kernelWith(boxesAt + 16 * most);
  if (kernel === undefined) return undefined;
  takeAway();
  try {
    const { buffer } = kernel.memory;
    words(kernel, trianglesAt, triangles.length).set(triangles);
    new Float64Array(buffer, pointsAt, p.length).set(p);
    for (let from = 0; from < count; from += BLOCK) {
      kernel.planesSome(pointsAt, trianglesAt, from, Math.min(from + BLOCK, count), planesAt);
    }
    const sorted = boxOrder(p, triangles, flatTriangles(new Float64Array(buffer, planesAt, 4 * count)));
    const places = sorted.order.length;
    if (places === 0) return true;
    words(kernel, orderAt, places).set(sorted.order);
    const levels = boxLevels(sorted.boxes);
    const boxesThere = new Int32Array(buffer, boxesAt, WORDS * most);
    boxesThere.set(sorted.boxes);
    const table = words(kernel, KERNEL_START + STACK_BYTES, 3 * levels.length);
    let boxes = places;
    for (const [level, own] of levels.entries()) {
      boxesThere.set(own, WORDS * boxes);
      table.set([boxesAt + 16 * boxes, own.length / WORDS, FAN ** level], 3 * level);
      boxes += own.length / WORDS;
    }
    for (let from = 0; from < boxes; from += BLOCK) {
      kernel.guardBoxes(boxesAt, from, Math.min(from + BLOCK, boxes));
    }
    kernel.startPairs(budgetPairs);
    const out = words(kernel, outAt, 2 * ROOM);
    while (kernel.state.value === 0) {
      const found = kernel.pairsSome(
        pointsAt,
        trianglesAt,
        planesAt,
        orderAt,
        places,
        boxesAt,
        KERNEL_START + STACK_BYTES,
        levels.length,
        KERNEL_START,
        outAt,
        ROOM,
        BLOCK,
      );
      for (let i = 0; i < 2 * found; i += 2) visit(out[i], out[i + 1]);
    }
    return kernel.state.value !== ENDED_BY_BUDGET;
  } finally {
    giveBack(kernel);
  }
}
