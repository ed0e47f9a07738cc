import { type Random, seededRandom } from '@stonehand/base';
import type { Placed, Printer, Search } from '@stonehand/model';
import { alwaysCoversCentre } from './bound.ts';
import { type Budget, budgetOf, endedHow, isSpent } from './budget.ts';
import { freePlace, largestFirst } from './construct.ts';
import { findPlace } from './find-place.ts';
import {
  type Layout,
  layoutOf,
  lossAt,
  measure,
  measureAll,
  resetWeights,
  restore,
  setPlace,
  snapshot,
} from './layout.ts';
import { type NestItem, plateOf, type Shapes, shapeOfItem, turnsOf } from './nest-item.ts';
import { separate } from './separate.ts';
import type { Shape } from './shape.ts';
import type { TableStore } from './world.ts';

/** What is known from one plate to the next. */
export type Bench = Readonly<{ shapes: Shapes; store: TableStore; turnsDeg: readonly number[] }>;

export type Arrangement = Readonly<{ placed: Placed[]; left: NestItem[]; usedShare: number; search: Search }>;

type ArrangeOptions = Readonly<{
  rounds: number;
  seed: number;
  stop?: (() => boolean) | undefined;
  /** an arrangement without overlap of some of the copies, to go on from */
  start?: readonly Placed[];
}>;

/**
 * Lays as many copies as it can on one plate: largest first where they are free, then each one left is put where it overlaps
 * least and the overlaps are removed. What cannot be freed is left. The answer does not depend on the order of the copies.
 */
export function arrange(
  items: readonly NestItem[],
  printer: Printer,
  bench: Bench,
  { rounds, seed, stop, start = [] }: ArrangeOptions,
): Arrangement {
  const sorted = [...items].sort((a, b) => (a.copyId < b.copyId ? -1 : a.copyId > b.copyId ? 1 : 0));
  const layout = plateLayout(sorted, printer, bench);
  const plate = layout.containers[0]!;
  const random = seededRandom(seed);
  const budget = budgetOf(rounds, stop);
  layStart(layout, sorted, start);
  const waiting = layWhereFree(layout, random);
  if (waiting.length > 0) forceIn(layout, waiting, plate.areaMm2, random, budget);
  centre(layout);
  const placed = sorted.flatMap((item, i) => (layout.home[i] === 0 ? [placedOf(layout, item, i)] : []));
  const areaMm2 = sorted.reduce(
    (sum, item, i) => sum + (layout.home[i] === 0 ? shapeOfItem(bench.shapes, item).areaMm2 : 0),
    0,
  );
  const bound = mostCopies(layout, plate.areaMm2);
  return {
    placed,
    left: sorted.filter((_, i) => layout.home[i] !== 0),
    usedShare: areaMm2 / plate.areaMm2,
    search: {
      what: `copies on ${printer.id}`,
      value: placed.length,
      bound,
      rounds,
      seed,
      ended: endedHow(budget, placed.length === bound),
    },
  };
}

function plateLayout(items: readonly NestItem[], printer: Printer, bench: Bench): Layout {
  const shapes: Shape[] = [];
  const turnsDeg: (readonly number[])[] = [];
  const numberOf = new Map<string, number>();
  const numbers = items.map((item) => {
    const shape = shapeOfItem(bench.shapes, item);
    const turns = turnsOf(bench.shapes, shape, item.turnsDeg ?? bench.turnsDeg);
    const key = `${shape.key} ${shape.wallMm} ${turns.join(',')}`;
    let number = numberOf.get(key);
    if (number === undefined) {
      number = shapes.push(shape) - 1;
      turnsDeg.push(turns);
      numberOf.set(key, number);
    }
    return number;
  });
  // A micrometre is far below what a printer can place, and far above the rounding of the coordinates.
  return layoutOf({
    shapes,
    turnsDeg,
    items: numbers,
    containers: [plateOf(bench.shapes, printer)],
    tolMm: 1e-9,
    store: bench.store,
  });
}

const SAMPLES = 400;

function layStart(layout: Layout, items: readonly NestItem[], start: readonly Placed[]): void {
  const { world } = layout;
  const placeOf = new Map(start.map((placed) => [placed.copyId, placed]));
  items.forEach((item, i) => {
    const placed = placeOf.get(item.copyId);
    if (placed === undefined) return;
    const shape = layout.shape[i]!;
    for (let v = world.firstVariant[shape]!; v < world.firstVariant[shape + 1]!; v++) {
      if (world.turnDeg[v] === placed.turnDeg) setPlace(layout, i, v, placed.xMm, placed.yMm, 0);
    }
  });
}

/** @returns the items that found no free place, largest first */
function layWhereFree(layout: Layout, random: Random): number[] {
  const waiting: number[] = [];
  for (const i of largestFirst(layout)) {
    if (layout.home[i] === 0) continue;
    const place = freePlace(layout, i, 0, random, SAMPLES);
    if (place === undefined) waiting.push(i);
    else setPlace(layout, i, place.variant, place.x, place.y, 0);
  }
  measureAll(layout);
  return waiting;
}

/** All that wait at once with half of what may be spent; if that fails, one after the other with the rest. */
function forceIn(layout: Layout, waiting: readonly number[], usableMm2: number, random: Random, budget: Budget): void {
  const half = { ...budget, evaluations: (layout.evaluations + budget.evaluations) / 2 };
  if (waiting.length > 1 && tryAdd(layout, waiting, usableMm2, random, half)) return;
  budget.stopped = half.stopped;
  waiting.forEach((i, k) => {
    if (isSpent(budget, layout)) return;
    const share = (budget.evaluations - layout.evaluations) / (waiting.length - k);
    const part = { ...budget, evaluations: layout.evaluations + share };
    tryAdd(layout, [i], usableMm2, random, part);
    budget.stopped = part.stopped;
  });
}

function tryAdd(layout: Layout, added: readonly number[], usableMm2: number, random: Random, budget: Budget): boolean {
  const before = snapshot(layout);
  if (areaOf(layout, (i) => layout.home[i] === 0 || added.includes(i)) > usableMm2) return false;
  while (!isSpent(budget, layout)) {
    resetWeights(layout);
    for (const i of added) {
      const place = findPlace(layout, i, random, { spread: 150, snug: 100, near: 0, refined: 4 });
      setPlace(layout, i, place.variant, place.x, place.y, place.home);
      measure(layout, i);
    }
    if (separate(layout, random, budget)) return true;
    restore(layout, before);
  }
  return false;
}

function areaOf(layout: Layout, counts: (i: number) => boolean): number {
  let area = 0;
  for (let i = 0; i < layout.count; i++) if (counts(i)) area += layout.world.shapes[layout.shape[i]!]!.areaMm2;
  return area;
}

/** At most: smallest areas first until the plate is full, and one of those that always cover the middle. */
function mostCopies(layout: Layout, usableMm2: number): number {
  const areas: number[] = [];
  let large = 0;
  for (let i = 0; i < layout.count; i++) {
    if (layout.containers[0]!.planes.length + layout.containers[0]!.obstacles.length === 0) {
      if (alwaysCoversCentre(layout, layout.shape[i]!, layout.containers[0]!) && large++ > 0) continue;
    }
    areas.push(layout.world.shapes[layout.shape[i]!]!.areaMm2);
  }
  areas.sort((a, b) => a - b);
  let sum = 0;
  let most = 0;
  while (most < areas.length && sum + areas[most]! <= usableMm2 * (1 + 1e-9)) sum += areas[most++]!;
  return most;
}

/** Beds are flattest and warmest in the middle (common practice, no source): the whole arrangement moves there as far as it may. */
function centre(layout: Layout): void {
  const { box, home, count } = layout;
  const plate = layout.containers[0]!;
  let x0 = Infinity;
  let y0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  for (let i = 0; i < count; i++) {
    if (home[i] !== 0) continue;
    x0 = Math.min(x0, box[4 * i]!);
    y0 = Math.min(y0, box[4 * i + 1]!);
    x1 = Math.max(x1, box[4 * i + 2]!);
    y1 = Math.max(y1, box[4 * i + 3]!);
  }
  if (x0 === Infinity) return;
  const dx = (plate.x0 + plate.x1 - x0 - x1) / 2;
  const dy = (plate.y0 + plate.y1 - y0 - y1) / 2;
  for (let share = 1; share > 0.05; share -= 0.1) {
    const before = snapshot(layout);
    for (let i = 0; i < count; i++) {
      if (home[i] === 0)
        setPlace(layout, i, layout.variant[i]!, layout.x[i]! + share * dx, layout.y[i]! + share * dy, 0);
    }
    if (isFree(layout)) return;
    restore(layout, before);
  }
}

function isFree(layout: Layout): boolean {
  for (let i = 0; i < layout.count; i++) {
    if (layout.home[i] !== 0) continue;
    if (lossAt(layout, i, layout.variant[i]!, layout.x[i]!, layout.y[i]!, 0, Infinity) > 0) return false;
  }
  return true;
}

function placedOf(layout: Layout, item: NestItem, i: number): Placed {
  return {
    copyId: item.copyId,
    xMm: layout.x[i]!,
    yMm: layout.y[i]!,
    turnDeg: layout.world.turnDeg[layout.variant[i]!]!,
  };
}
