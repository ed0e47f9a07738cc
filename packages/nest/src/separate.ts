import type { Random } from '@stonehand/base';
import { type Budget, isSpent } from './budget.ts';
import { findPlace } from './find-place.ts';
import { type Layout, measure, overlapOf, resetWeights, restore, setPlace, snapshot, totalOverlap } from './layout.ts';

export type SeparateOptions = Readonly<{
  /** items moved without a better total before a fresh look from the best so far; at least LEAST_PASSES over all items */
  patience: number;
  /** fresh looks before giving up */
  strikes: number;
}>;

const SEPARATE_DEFAULTS: SeparateOptions = { patience: 2000, strikes: 2 };

const LEAST_PASSES = 25;

// Growth of a pair's weight while it overlaps, the deepest pair most, and its decay when it does not: the scheme of guided
// local search (Voudouris & Tsang 1999; for nesting Egeblad et al. 2007, Umetani et al. 2009, Gardeyn et al. 2025).
const GROWTH_LEAST = 1.2;
const GROWTH_MOST = 2;
const DECAY = 0.95;

/**
 * Moves overlapping items until nothing overlaps: each goes where its weighted overlap is least, then the weights of what
 * still overlaps grow, so that the search leaves places where it would stay for ever. On failure the least overlap seen stands.
 */
export function separate(
  layout: Layout,
  random: Random,
  budget: Budget,
  { patience, strikes }: SeparateOptions = SEPARATE_DEFAULTS,
): boolean {
  resetWeights(layout);
  let bestTotal = totalOverlap(layout);
  if (bestTotal === 0) return true;
  let best = snapshot(layout);
  const passes = Math.max(LEAST_PASSES, patience / layout.count);
  for (let strike = 0; strike < strikes; strike++) {
    const before = bestTotal;
    if (strike > 0) restore(layout, best);
    for (let idle = 0; idle < passes; idle++) {
      movePass(layout, random, budget);
      const total = totalOverlap(layout);
      if (total === 0) return true;
      if (total < bestTotal) {
        // A crumb of progress must not keep a hopeless search alive.
        if (total < 0.98 * bestTotal) idle = -1;
        bestTotal = total;
        best = snapshot(layout);
      }
      if (isSpent(budget, layout)) {
        restore(layout, best);
        return false;
      }
      updateWeights(layout);
    }
    if (bestTotal < 0.98 * before) strike = -1;
  }
  restore(layout, best);
  return false;
}

function movePass(layout: Layout, random: Random, budget: Budget): void {
  const order: number[] = [];
  for (let i = 0; i < layout.count; i++) if (layout.home[i]! >= 0 && overlapOf(layout, i) > 0) order.push(i);
  for (let k = order.length - 1; k > 0; k--) {
    const other = random.below(k + 1);
    const held = order[k]!;
    order[k] = order[other]!;
    order[other] = held;
  }
  for (const i of order) {
    if (overlapOf(layout, i) === 0) continue;
    const place = findPlace(layout, i, random);
    setPlace(layout, i, place.variant, place.x, place.y, place.home);
    measure(layout, i);
    if (isSpent(budget, layout)) return;
  }
}

function updateWeights(layout: Layout): void {
  const { count, depth, weight, leastWeight, wallDepth, wallWeight } = layout;
  let deepest = 0;
  for (let k = 0; k < depth.length; k++) if (depth[k]! > deepest) deepest = depth[k]!;
  for (let i = 0; i < count; i++) if (wallDepth[i]! > deepest) deepest = wallDepth[i]!;
  for (let k = 0; k < depth.length; k++) weight[k] = grown(weight[k]!, depth[k]!, deepest, leastWeight[k]!);
  for (let i = 0; i < count; i++) wallWeight[i] = grown(wallWeight[i]!, wallDepth[i]!, deepest, 1);
}

function grown(weight: number, depth: number, deepest: number, least: number): number {
  if (depth === 0) return Math.max(least, weight * DECAY);
  return weight * (GROWTH_LEAST + ((GROWTH_MOST - GROWTH_LEAST) * depth) / deepest);
}
