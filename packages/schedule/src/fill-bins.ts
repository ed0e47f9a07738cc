import { seededRandom } from '@stonehand/base';
import { createRefill } from './refill-bins.ts';
import { createTightSearch } from './tight-bins.ts';

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
