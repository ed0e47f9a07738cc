import type { Random } from '@stonehand/base';

/** Steps of looking for the sets of one bin. */
const FILL_NODES = 2000;
/** Sets tried for one bin, least room left first; more make the walk wide, not deep. */
const SETS_PER_BIN = 30;

/**
 * For bins of one capacity with little room to spare: the largest item left opens a bin, which is filled in every way that
 * leaves no more room than is to spare in all (after bin completion, Korf 2002, from memory). Depth first, sets of equal room in
 * random order, begun anew after some hundred dead ends.
 */
export function createTightSearch(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
  random: Random,
): (() => Int32Array | undefined) | undefined {
  const capacity = capacities[0]!;
  for (let b = 1; b < capacities.length; b++) if (capacities[b] !== capacity) return undefined;
  const spare = capacity * capacities.length - order.reduce((sum, i) => sum + sizes[i]!, 0);
  // With more to spare than a bin in ten, the sets are too many, and best fit rarely fails.
  if (spare > capacity * Math.max(1, capacities.length / 10)) return undefined;
  const binOf = new Int32Array(sizes.length).fill(-1);
  const left = [...order];
  let nodes = 0;
  const fill = (bin: number, toSpare: number): boolean => {
    if (left.length === 0) return true;
    if (bin === capacities.length || ++nodes > RESTART_NODES) return false;
    const items = [...left];
    for (const set of completions(items, capacity, toSpare, sizes, random)) {
      for (const i of set.items) binOf[i] = bin;
      left.length = 0;
      for (const i of items) if (binOf[i]! < 0) left.push(i);
      if (fill(bin + 1, toSpare - set.room)) return true;
      for (const i of set.items) binOf[i] = -1;
    }
    left.length = 0;
    left.push(...items);
    return false;
  };
  return () => {
    for (let restart = 0; restart < RESTARTS; restart++) {
      binOf.fill(-1);
      left.length = 0;
      left.push(...order);
      nodes = 0;
      if (fill(0, spare)) return binOf;
    }
    return undefined;
  };
}

const RESTARTS = 5;
const RESTART_NODES = 2000;

type Completion = Readonly<{ items: readonly number[]; room: number; rank: number }>;

/** Ways to fill a bin that holds the first (largest) of the items, leaving at most toSpare. Items come largest first. */
function completions(
  items: readonly number[],
  capacity: number,
  toSpare: number,
  sizes: ArrayLike<number>,
  random: Random,
): Completion[] {
  const found: Completion[] = [];
  const current = [items[0]!];
  let steps = 0;
  const smallest = sizes[items.at(-1)!]!;
  const search = (from: number, room: number): void => {
    if (room <= toSpare + 1e-9) found.push({ items: [...current], room, rank: random.next() });
    if (room < smallest) return;
    // With room for one more only, what leaves too much is no use: begin at the largest that fits, end below the smallest that will do.
    const one = room < 2 * smallest;
    let previous = -1;
    for (let p = one ? firstFitting(items, sizes, from, room) : from; p < items.length; p++) {
      const size = sizes[items[p]!]!;
      if (one && size < room - toSpare - 1e-9) return;
      if (size > room || size === previous) continue;
      previous = size;
      if (++steps > FILL_NODES) return;
      current.push(items[p]!);
      search(p + 1, room - size);
      current.pop();
    }
  };
  search(1, capacity - sizes[items[0]!]!);
  return found.sort((a, b) => a.room - b.room || a.rank - b.rank).slice(0, SETS_PER_BIN);
}

/** First position from `from` on whose item fits; items come largest first. */
function firstFitting(items: readonly number[], sizes: ArrayLike<number>, from: number, room: number): number {
  let low = from;
  let high = items.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sizes[items[middle]!]! <= room) high = middle;
    else low = middle + 1;
  }
  return low;
}
