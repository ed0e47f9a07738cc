import { type Random, seededRandom } from '@stonehand/base';

/** For each item the bin that holds it, or undefined when no such packing was found; `exhausted` when none exists. */
export type Filling = Readonly<{ binOf: Int32Array | undefined; exhausted: boolean }>;

/** Above this many items the complete search is left out: its tree is too large to help. */
const COMPLETE_ITEMS = 28;

export interface FillOptions {
  /** of the walk for many items */
  readonly rounds?: number;
  readonly seed?: number;
  /** of the complete search for few */
  readonly nodes?: number;
  readonly stop?: (() => boolean) | undefined;
}

/**
 * Puts every item into one bin, bins of any capacity: best fit, then a complete search with a bound on wasted room and a
 * memory of states that failed, then (for many items) bins filled one after another as full as possible and refilled in
 * part again and again. Best-fit alone needs 1 or 2 bins more on 4 of the 4 spool instances that we measure.
 */
export function fillBins(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  { rounds = 200, seed = 1, nodes = 200_000, stop }: FillOptions = {},
): Filling {
  const order = Array.from({ length: sizes.length }, (_, i) => i).sort((a, b) => sizes[b]! - sizes[a]! || a - b);
  let room = 0;
  let need = 0;
  for (let b = 0; b < capacities.length; b++) room += Math.max(0, capacities[b]!);
  for (const i of order) need += sizes[i]!;
  if (need > room * (1 + 1e-12)) return { binOf: undefined, exhausted: true };
  const simple = bestFit(capacities, sizes, order);
  if (simple !== undefined) return { binOf: simple, exhausted: false };
  if (order.length <= COMPLETE_ITEMS) {
    const complete = completeSearch(capacities, sizes, order, nodes);
    if (complete.binOf !== undefined || complete.exhausted) return complete;
  }
  const random = seededRandom(seed);
  const tight = createTightSearch(capacities, sizes, order, random);
  const refill = createRefill(capacities, sizes, order, random);
  for (let round = 0; round < rounds && stop?.() !== true; round++) {
    const binOf = tight?.() ?? refill();
    if (binOf !== undefined) return { binOf, exhausted: false };
  }
  return { binOf: undefined, exhausted: false };
}

function bestFit(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
): Int32Array | undefined {
  const left = Float64Array.from(capacities);
  const binOf = new Int32Array(sizes.length).fill(-1);
  for (const i of order) {
    let best = -1;
    for (let b = 0; b < left.length; b++) {
      if (left[b]! >= sizes[i]! && (best < 0 || left[b]! < left[best]!)) best = b;
    }
    if (best < 0) return undefined;
    binOf[i] = best;
    left[best] = left[best]! - sizes[i]!;
  }
  return binOf;
}

function completeSearch(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
  mostNodes: number,
): Filling {
  const left = Float64Array.from(capacities);
  const binOf = new Int32Array(sizes.length).fill(-1);
  const smallestFrom = new Float64Array(order.length + 1).fill(Infinity);
  const needFrom = new Float64Array(order.length + 1);
  for (let p = order.length - 1; p >= 0; p--) {
    smallestFrom[p] = Math.min(smallestFrom[p + 1]!, sizes[order[p]!]!);
    needFrom[p] = needFrom[p + 1]! + sizes[order[p]!]!;
  }
  const failed = new Set<string>();
  let nodes = 0;
  const place = (p: number): boolean => {
    if (p === order.length) return true;
    if (++nodes > mostNodes) return false;
    let usable = 0;
    for (let b = 0; b < left.length; b++) if (left[b]! >= smallestFrom[p]!) usable += left[b]!;
    if (usable < needFrom[p]! * (1 - 1e-12)) return false;
    const key = `${p} ${Float64Array.from(left).sort().join(' ')}`;
    if (failed.has(key)) return false;
    const i = order[p]!;
    const tried = new Set<number>();
    for (let b = 0; b < left.length; b++) {
      if (left[b]! < sizes[i]! || tried.has(left[b]!)) continue;
      tried.add(left[b]!);
      const before = left[b]!;
      binOf[i] = b;
      left[b] = before - sizes[i]!;
      if (place(p + 1)) return true;
      left[b] = before;
      // An item that fills a bin exactly can go there without loss.
      if (before === sizes[i]!) break;
    }
    if (nodes <= mostNodes) failed.add(key);
    return false;
  };
  const found = place(0);
  return { binOf: found ? binOf : undefined, exhausted: !found && nodes <= mostNodes };
}

/** Sets tried for one bin, least room left first; more make the walk wide, not deep. */
const SETS_PER_BIN = 30;

/**
 * For bins of one capacity with little room to spare: the largest item left opens a bin, which is filled in every way that
 * leaves no more room than is to spare in all (after bin completion, Korf 2002, from memory). Depth first, sets of equal room in
 * random order, begun anew after some hundred dead ends.
 */
function createTightSearch(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
  random: Random,
): (() => Int32Array | undefined) | undefined {
  const capacity = capacities[0]!;
  for (let b = 1; b < capacities.length; b++) if (capacities[b] !== capacity) return undefined;
  const spare = capacity * capacities.length - sum(order, sizes);
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

/** Fleszar & Hindi 2002 (minimum bin slack, from memory): fill one bin at a time with the fullest set; then break up some bins and fill again. */
function createRefill(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
  random: Random,
): () => Int32Array | undefined {
  const bins = Array.from({ length: capacities.length }, (_, b) => b).sort(
    (a, b) => capacities[b]! - capacities[a]! || a - b,
  );
  let binOf = new Int32Array(sizes.length).fill(-1);
  let loose = fillAll(bins, [...order], capacities, sizes, binOf, random);
  return () => {
    for (let move = 0; move < MOVES && loose.length > 0; move++) {
      const trial = Int32Array.from(binOf);
      const opened = new Set<number>();
      const wanted = 2 + random.below(Math.min(6, bins.length));
      for (let tries = 0; opened.size < Math.min(wanted, bins.length) && tries < 50; tries++)
        opened.add(bins[random.below(bins.length)]!);
      const pool = [...loose];
      for (let i = 0; i < trial.length; i++) {
        if (trial[i]! >= 0 && opened.has(trial[i]!)) {
          pool.push(i);
          trial[i] = -1;
        }
      }
      pool.sort((a, b) => sizes[b]! - sizes[a]! || a - b);
      const rest = fillAll([...opened], pool, capacities, sizes, trial, random);
      if (sum(rest, sizes) <= sum(loose, sizes)) {
        binOf = trial;
        loose = rest;
      }
    }
    return loose.length === 0 ? binOf : undefined;
  };
}

const MOVES = 100;

function sum(items: readonly number[], sizes: ArrayLike<number>): number {
  return items.reduce((total, i) => total + sizes[i]!, 0);
}

const FILL_NODES = 2000;

function fillAll(
  bins: readonly number[],
  pool: number[],
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  binOf: Int32Array,
  random: Random,
): number[] {
  let rest = pool;
  for (const b of bins) {
    if (rest.length === 0) break;
    // Most times the largest item leads, so that it is not left for last; sometimes any, to leave the rut.
    const lead = random.next() < 0.7 ? 0 : random.below(rest.length);
    const chosen = fullest(rest, lead, capacities[b]!, sizes, random);
    for (const i of chosen) binOf[i] = b;
    rest = rest.filter((i) => binOf[i] !== b);
  }
  return rest;
}

/** The set with the lead item (if it fits) that leaves least room. Items come sorted, largest first. */
function fullest(
  items: readonly number[],
  lead: number,
  capacity: number,
  sizes: ArrayLike<number>,
  random: Random,
): number[] {
  const chosen: number[] = [];
  let left = capacity;
  const first = items[lead]!;
  if (sizes[first]! <= left) {
    chosen.push(first);
    left -= sizes[first]!;
  }
  const others = items.filter((i) => i !== first);
  // Equal fills differ in which items they use: a random cyclic order of the same sizes would not help, so skip some at random.
  const skip = random.next() < 0.5 ? 0 : 0.3 * random.next();
  const candidates = skip === 0 ? others : others.filter(() => random.next() >= skip);
  let best: number[] = [];
  let bestLeft = left;
  let nodes = 0;
  const current: number[] = [];
  const search = (from: number, room: number): boolean => {
    if (room < bestLeft) {
      bestLeft = room;
      best = [...current];
      if (room === 0) return true;
    }
    let previous = -1;
    for (let p = from; p < candidates.length; p++) {
      const i = candidates[p]!;
      const size = sizes[i]!;
      if (size > room || size === previous) continue;
      previous = size;
      if (++nodes > FILL_NODES) return true;
      current.push(i);
      const stop = search(p + 1, room - size);
      current.pop();
      if (stop) return true;
    }
    return false;
  };
  search(0, left);
  return [...chosen, ...best];
}

/**
 * Least number of bins of one capacity: Martello & Toth's L2 (1990, from memory): for each threshold k, items larger than
 * capacity − k need a bin each, those larger than half too, and the rest down to k must fit into what these leave.
 */
export function binBound(sizes: readonly number[], capacity: number): number {
  let bound = Math.ceil(sizes.reduce((a, b) => a + b, 0) / capacity - 1e-9);
  for (const k of new Set(sizes.filter((size) => size <= capacity / 2))) {
    let alone = 0;
    let half = 0;
    let halfSum = 0;
    let smallSum = 0;
    for (const size of sizes) {
      if (size > capacity - k) alone++;
      else if (size > capacity / 2) {
        half++;
        halfSum += size;
      } else if (size >= k) smallSum += size;
    }
    bound = Math.max(
      bound,
      alone + half + Math.max(0, Math.ceil((smallSum - (half * capacity - halfSum)) / capacity - 1e-9)),
    );
  }
  return Math.max(bound, sizes.filter((size) => size > capacity / 2).length);
}
