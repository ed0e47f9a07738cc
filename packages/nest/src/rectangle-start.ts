import type { Random } from '@stonehand/base';
import { type Budget, isSpent } from './budget.ts';
import { type Layout, measureAll, setPlace } from './layout.ts';
import { perfectStrip } from './perfect-strip.ts';
import { refillBins } from './rectangle-bins.ts';
import { type Filling, type Rectangles, searchSkyline } from './skyline.ts';

// Rectangles laid down since the last better filling before the search by overlap takes over: a few seconds.
const PATIENCE = 2_000_000;
// Fillings of all bins before a few at a time are refilled, and rectangles laid down in that before it gives up.
const SHORT = 200;
const REFILL_PATIENCE = 60_000_000;

/**
 * When every shape is an upright rectangle that keeps no gap: a start by skyline, which lines edges up exactly where sampling
 * only comes near. False (and nothing moved) for other shapes.
 * @param limitX bin width, or Infinity for a strip
 */
export function startWithRectangles(
  layout: Layout,
  limitX: number,
  heightY: number,
  boundScore: number,
  random: Random,
  budget: Budget,
): boolean {
  const rects = rectanglesOf(layout);
  if (rects === undefined) return false;
  const patience = Math.max(3000, PATIENCE / layout.count);
  const half = (layout.evaluations + budget.evaluations) / 2;
  const skyline = (most: number): Filling =>
    searchSkyline(rects, limitX, heightY, boundScore, random, (sinceBest) => {
      layout.evaluations += layout.count; // one look at a place for each rectangle
      return sinceBest < most && layout.evaluations < half && !isSpent(budget, layout);
    });
  let found: Filling;
  if (limitX === Infinity) {
    const goesOn = (): boolean => {
      layout.evaluations += 1000;
      return layout.evaluations < half && !isSpent(budget, layout);
    };
    found = perfectStrip(rects, boundScore, heightY, goesOn) ?? skyline(patience);
  } else {
    const leastBins = Math.floor(boundScore);
    found = refillBins(skyline(SHORT), rects, limitX, heightY, leastBins, random, (sinceBest, looks) => {
      layout.evaluations += looks;
      return sinceBest < REFILL_PATIENCE && layout.evaluations < half && !isSpent(budget, layout);
    });
  }
  const { world } = layout;
  for (let i = 0; i < layout.count; i++) {
    const first = world.firstVariant[layout.shape[i]!]!;
    const quarter = found.isTurned[i] === 1 ? turnedVariant(layout, i) : first;
    setPlace(
      layout,
      i,
      quarter,
      found.x[i]! - world.box[4 * quarter]!,
      found.y[i]! - world.box[4 * quarter + 1]!,
      found.bin[i]!,
    );
  }
  measureAll(layout);
  return true;
}

function rectanglesOf(layout: Layout): Rectangles | undefined {
  const { world, count } = layout;
  const rects = { sizeX: new Float64Array(count), sizeY: new Float64Array(count), mayTurn: new Uint8Array(count) };
  for (let i = 0; i < count; i++) {
    const shape = world.shapes[layout.shape[i]!]!;
    const v = world.firstVariant[layout.shape[i]!]!;
    rects.sizeX[i] = world.box[4 * v + 2]! - world.box[4 * v]!;
    rects.sizeY[i] = world.box[4 * v + 3]! - world.box[4 * v + 1]!;
    const isFull = Math.abs(rects.sizeX[i]! * rects.sizeY[i]! - shape.areaMm2) <= 1e-9 * shape.areaMm2;
    if (!isFull || shape.marginMm !== 0 || shape.wallMm !== 0 || world.turnDeg[v]! % 90 !== 0) return undefined;
    rects.mayTurn[i] = turnedVariant(layout, i) >= 0 ? 1 : 0;
  }
  return rects;
}

/** A variant a quarter turn from the first, or −1. */
function turnedVariant(layout: Layout, i: number): number {
  const { world } = layout;
  const first = world.firstVariant[layout.shape[i]!]!;
  for (let v = first; v < world.firstVariant[layout.shape[i]! + 1]!; v++) {
    if (Math.abs(world.turnDeg[v]! - world.turnDeg[first]!) % 180 === 90) return v;
  }
  return -1;
}
