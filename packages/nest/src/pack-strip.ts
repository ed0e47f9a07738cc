import { type Random, seededRandom } from '@stonehand/base';
import type { Search } from '@stonehand/model';
import { type Budget, budgetOf, endedHow, isSpent } from './budget.ts';
import { freePlace, largestFirst } from './construct.ts';
import { type Container, rectangleContainer } from './container.ts';
import {
  type Layout,
  layoutOf,
  measureAll,
  restore,
  type Snapshot,
  setPlace,
  snapshot,
  totalOverlap,
} from './layout.ts';
import { startWithRectangles } from './rectangle-start.ts';
import { separate } from './separate.ts';
import type { Shape } from './shape.ts';

/** Shapes with their allowed turns; `items` names the shape of each item. */
export type NestProblem = Readonly<{
  shapes: readonly Shape[];
  turnsDeg: readonly (readonly number[])[];
  items: readonly number[];
}>;

export type NestPlace = Readonly<{ item: number; xMm: number; yMm: number; turnDeg: number; bin: number }>;

export type NestOptions = Readonly<{ rounds?: number; seed?: number; stop?: () => boolean }>;

export type StripResult = Readonly<{ lengthMm: number; places: readonly NestPlace[]; search: Search }>;

/**
 * Packs all items into a strip of a given height (y from 0) and the least length (x from 0) that the search finds: a
 * constructive start, then shorter and shorter strips whose overlaps are removed (Gardeyn, Vanden Berghe, Wauters 2025, arXiv
 * 2509.13329: explore, then compress; own code, own measure of overlap).
 * Bound: area, and the widest item's least width.
 */
export function packStrip(
  problem: NestProblem,
  heightMm: number,
  { rounds = 2000, seed = 1, stop }: NestOptions = {},
): StripResult {
  const random = seededRandom(seed);
  const budget = budgetOf(rounds, stop);
  const strip = rectangleContainer(1, heightMm);
  const layout = layoutOf({ ...problem, containers: [strip], tolMm: 1e-9 * heightMm });
  const boundMm = stripBoundMm(layout, heightMm);
  strip.x1 = Infinity;
  if (!startWithRectangles(layout, Infinity, heightMm, boundMm * (1 + 1e-9), random, budget)) {
    construct(layout, strip, random, boundMm);
  }
  const best: Best = { lengthMm: usedLengthMm(layout), kept: snapshot(layout) };
  shorten(layout, strip, random, budget, best, boundMm);
  restore(layout, best.kept);
  return {
    lengthMm: best.lengthMm,
    places: placesOf(layout),
    search: {
      what: 'strip length mm',
      value: best.lengthMm,
      bound: boundMm,
      rounds,
      seed,
      ended: endedHow(budget, best.lengthMm <= boundMm * (1 + 1e-9)),
    },
  };
}

type Best = { lengthMm: number; kept: Snapshot };

export function placesOf(layout: Layout): NestPlace[] {
  return Array.from({ length: layout.count }, (_, i) => ({
    item: i,
    xMm: layout.x[i]!,
    yMm: layout.y[i]!,
    turnDeg: layout.world.turnDeg[layout.variant[i]!]!,
    bin: layout.home[i]!,
  }));
}

function stripBoundMm(layout: Layout, heightMm: number): number {
  const { world } = layout;
  let area = 0;
  let longest = 0;
  for (let i = 0; i < layout.count; i++) {
    const shape = layout.shape[i]!;
    area += world.shapes[shape]!.areaMm2;
    let least = Infinity;
    for (let v = world.firstVariant[shape]!; v < world.firstVariant[shape + 1]!; v++) {
      if (world.box[4 * v + 3]! - world.box[4 * v + 1]! > heightMm * (1 + 1e-9)) continue;
      least = Math.min(least, world.box[4 * v + 2]! - world.box[4 * v]!);
    }
    longest = Math.max(longest, least);
  }
  return Math.max(area / heightMm, longest);
}

function construct(layout: Layout, strip: Container, random: Random, boundMm: number): void {
  const { world } = layout;
  let reached = 0;
  for (const i of largestFirst(layout)) {
    const v = world.firstVariant[layout.shape[i]!]!;
    strip.x1 =
      reached +
      1.01 *
        Math.max(
          world.box[4 * v + 2]! - world.box[4 * v]!,
          world.box[4 * v + 3]! - world.box[4 * v + 1]!,
          boundMm / 50,
        );
    let place = freePlace(layout, i, 0, random, 300);
    while (place === undefined) {
      strip.x1 *= 1.2;
      place = freePlace(layout, i, 0, random, 300);
    }
    setPlace(layout, i, place.variant, place.x, place.y, 0);
    reached = Math.max(reached, place.x + world.box[4 * place.variant + 2]!);
  }
  measureAll(layout);
}

function usedLengthMm(layout: Layout): number {
  let length = 0;
  for (let i = 0; i < layout.count; i++) {
    length = Math.max(length, layout.x[i]! + layout.world.box[4 * layout.variant[i]! + 2]!);
  }
  return length;
}

// Cuts by share of the length: as much as succeeds at first, and no less than what a better arrangement is worth.
const CUT_MOST = 0.03;
const CUT_LEAST = 0.001;
// Failed layouts kept to start from again.
const POOL = 12;

/**
 * Each success shortens the strip again. A failure first makes the cut smaller; at the smallest cut the search explores: from
 * one of the least overlapping failures, two large items change places, and the overlaps are removed anew.
 */
function shorten(layout: Layout, strip: Container, random: Random, budget: Budget, best: Best, boundMm: number): void {
  let cut = CUT_MOST;
  let pool: { overlap: number; kept: Snapshot }[] = [];
  while (!isSpent(budget, layout) && best.lengthMm > boundMm * (1 + 1e-9)) {
    if (pool.length === 0 || random.next() < 0.2) restore(layout, best.kept);
    else
      restore(layout, pool[Math.min(pool.length - 1, Math.floor(Math.abs(random.normal()) * 0.4 * pool.length))]!.kept);
    shrinkTo(layout, strip, Math.max(best.lengthMm * (1 - cut), boundMm), random);
    if (pool.length > 2) for (let k = random.below(3); k >= 0; k--) swapTwo(layout, random);
    if (separate(layout, random, budget)) {
      best.lengthMm = usedLengthMm(layout);
      best.kept = snapshot(layout);
      pool = [];
      cut = Math.min(CUT_MOST, cut * 1.2);
    } else {
      cut = Math.max(CUT_LEAST, cut * 0.4);
      pool.push({ overlap: totalOverlap(layout), kept: snapshot(layout) });
      pool.sort((a, b) => a.overlap - b.overlap);
      if (pool.length > POOL) pool.pop();
    }
  }
}

/** Closes the strip at a random place: what lies right of it moves left by the difference. */
function shrinkTo(layout: Layout, strip: Container, target: number, random: Random): void {
  const used = usedLengthMm(layout);
  strip.x1 = target;
  const at = random.next() * used;
  for (let i = 0; i < layout.count; i++) {
    const v = layout.variant[i]!;
    const middle = layout.x[i]! + (layout.world.box[4 * v]! + layout.world.box[4 * v + 2]!) / 2;
    if (middle > at) setPlace(layout, i, v, layout.x[i]! - (used - target), layout.y[i]!, 0);
  }
  measureAll(layout);
}

/** Two unlike items of the larger half change places. */
function swapTwo(layout: Layout, random: Random): void {
  const areas = Array.from({ length: layout.count }, (_, i) => layout.world.shapes[layout.shape[i]!]!.hullAreaMm2);
  const median = [...areas].sort((a, b) => a - b)[areas.length >> 1]!;
  const large = areas.flatMap((area, i) => (area >= median ? [i] : []));
  const a = large[random.below(large.length)]!;
  const others = large.filter((i) => layout.shape[i] !== layout.shape[a]);
  if (others.length === 0) return;
  const b = others[random.below(others.length)]!;
  const { box } = layout.world;
  const middle = (i: number): [number, number] => {
    const v = layout.variant[i]!;
    return [layout.x[i]! + (box[4 * v]! + box[4 * v + 2]!) / 2, layout.y[i]! + (box[4 * v + 1]! + box[4 * v + 3]!) / 2];
  };
  const [ax, ay] = middle(a);
  const [bx, by] = middle(b);
  setPlace(layout, a, layout.variant[a]!, layout.x[a]! + bx - ax, layout.y[a]! + by - ay, 0);
  setPlace(layout, b, layout.variant[b]!, layout.x[b]! + ax - bx, layout.y[b]! + ay - by, 0);
  measureAll(layout);
}
