import { type Random, StonehandError, seededRandom } from '@stonehand/base';
import type { Search } from '@stonehand/model';
import { leastContainers } from './bound.ts';
import { type Budget, budgetOf, endedHow, isSpent } from './budget.ts';
import { freePlace, largestFirst } from './construct.ts';
import { rectangleContainer } from './container.ts';
import { findPlace } from './find-place.ts';
import { type Layout, layoutOf, measure, measureAll, resetWeights, restore, setPlace, snapshot } from './layout.ts';
import { type NestOptions, type NestPlace, type NestProblem, placesOf } from './pack-strip.ts';
import { startWithRectangles } from './rectangle-start.ts';
import { separate } from './separate.ts';

export type BinsResult = Readonly<{ bins: number; places: readonly NestPlace[]; search: Search }>;

/**
 * Packs all items into as few equal rectangles as the search finds: first fit by size, then one bin after another is
 * emptied into the rest and the overlaps removed, items changing bins as they like.
 * @throws StonehandError DATA_INVALID when an item fits no bin at any allowed turn
 */
export function packBins(
  problem: NestProblem,
  widthMm: number,
  heightMm: number,
  { rounds = 2000, seed = 1, stop }: NestOptions = {},
): BinsResult {
  const random = seededRandom(seed);
  const budget = budgetOf(rounds, stop);
  const containers = problem.items.map(() => rectangleContainer(widthMm, heightMm));
  const layout = layoutOf({ ...problem, containers, tolMm: 1e-9 * Math.max(widthMm, heightMm) });
  const bound = leastContainers(layout, containers[0]!);
  if (startWithRectangles(layout, widthMm, heightMm, bound + 1 - 1e-9, random, budget)) {
    layout.open = Math.max(...layout.home.subarray(0, layout.count)) + 1;
  } else firstFit(layout, random);
  let best = snapshot(layout);
  while (layout.open > bound && !isSpent(budget, layout)) {
    const open = layout.open;
    if (dropBin(layout, random, budget)) best = snapshot(layout);
    else {
      layout.open = open;
      restore(layout, best);
    }
  }
  restore(layout, best);
  const bins = Math.max(...best.home) + 1;
  return {
    bins,
    places: placesOf(layout),
    search: { what: 'bins', value: bins, bound, rounds, seed, ended: endedHow(budget, bins <= bound) },
  };
}

const SAMPLES = 300;

function firstFit(layout: Layout, random: Random): void {
  layout.open = 0;
  for (const i of largestFirst(layout)) {
    let placed = false;
    for (let home = 0; home < layout.containers.length && !placed; home++) {
      const isEmpty = home >= layout.open;
      const place = freePlace(layout, i, home, random, isEmpty ? 4 * SAMPLES : SAMPLES);
      if (place === undefined && isEmpty) {
        throw new StonehandError('DATA_INVALID', `item ${i} fits no bin at any allowed turn`, 'Take a larger bin.');
      }
      if (place === undefined) continue;
      setPlace(layout, i, place.variant, place.x, place.y, home);
      layout.open = Math.max(layout.open, home + 1);
      placed = true;
    }
  }
  measureAll(layout);
}

/** Empties one of the least filled bins into the others; true when everything then lies free. */
function dropBin(layout: Layout, random: Random, budget: Budget): boolean {
  const area = new Float64Array(layout.open);
  for (let i = 0; i < layout.count; i++) area[layout.home[i]!]! += layout.world.shapes[layout.shape[i]!]!.areaMm2;
  const order = [...area.keys()].sort((a, b) => area[a]! - area[b]! || a - b);
  const dropped = order[random.below(Math.min(3, order.length))]!;
  const last = --layout.open;
  const homeless: number[] = [];
  for (let i = 0; i < layout.count; i++) {
    if (layout.home[i] === dropped) homeless.push(i);
    else if (layout.home[i] === last) setPlace(layout, i, layout.variant[i]!, layout.x[i]!, layout.y[i]!, dropped);
  }
  for (const i of homeless) setPlace(layout, i, layout.variant[i]!, layout.x[i]!, layout.y[i]!, -1);
  measureAll(layout);
  resetWeights(layout);
  for (const i of largestFirst(layout).filter((k) => homeless.includes(k))) {
    const place = findPlace(layout, i, random, { spread: 150, snug: 100, near: 0, refined: 3 });
    setPlace(layout, i, place.variant, place.x, place.y, place.home);
    measure(layout, i);
  }
  return separate(layout, random, budget);
}
