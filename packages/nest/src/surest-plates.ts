import type { Printer } from '@stonehand/model';
import {
  type Able,
  areKeptApart,
  choiceOf,
  forPrinter,
  gappedAreaMm2,
  type SecondsFor,
  unitsOf,
} from './able-copies.ts';
import { type Arrangement, arrange, type Bench } from './arrange.ts';
import { batches } from './batches.ts';
import { plateOf } from './nest-item.ts';
import { runCost } from './run-cost.ts';

export type FilledPlate = Readonly<{ printer: Printer; copies: readonly Able[]; found: Arrangement }>;

export type FillOptions = Readonly<{
  rounds: number;
  seed: number;
  handlingS: number;
  seconds: SecondsFor;
  stop: (() => boolean) | undefined;
}>;

// Outlines of unlike parts seldom fill more of a plate than this; what does not fit after all goes to the next plate.
const FILL = 0.6;
// A gram wasted is as bad as a minute lost: filament of 15 g, what a printer lays in an hour, is worth a quarter of that hour.
const S_PER_G = 60;
// An hour of the owner's counts like two of a printer's (no source): with 1 the demo had seven plates more at the same expected hours.
const HANDS_ON_WEIGHT = 2;
// From here on a piece with a face to show is large: four hours, or a fifth of the plate (common practice, no source).
const LARGE_S = 4 * 3600;
const LARGE_SHARE = 0.2;

/**
 * Plates of one printer, one material and one recipe, at the least expected hours and grams with what fails and is printed again
 * (see `runCost`): long pieces come alone or with few, short ones together, large ones with a face to show alone. The list is cut
 * by duration and by height, and the cheaper way counts; pieces of like height share least layer times.
 */
export function surestPlates(
  group: readonly Able[],
  printer: Printer,
  bench: Bench,
  options: FillOptions,
): { filled: FilledPlate[]; tight: Able[] } {
  const filled: FilledPlate[] = [];
  const tight: Able[] = [];
  let units = unitsOf(group);
  while (units.length > 0) {
    const later: (readonly Able[])[] = [];
    for (const batch of cheapestBatches(units, printer, bench, options)) {
      const { plate, left } = fillPlate(batch, printer, bench, options);
      if (plate !== undefined) filled.push(plate);
      if (plate === undefined && batch.length === 1) {
        // Together they do not fit after all: each for itself. Alone it fitted an empty plate before, so tightly that the search
        // did not find it again.
        if (batch[0]!.length > 1) later.push(...batch[0]!.map((one) => [one]));
        else tight.push(...batch[0]!);
      } else later.push(...left);
    }
    units = later;
  }
  return { filled, tight };
}

type Units = readonly (readonly Able[])[];

function cheapestBatches(units: Units, printer: Printer, bench: Bench, options: FillOptions): Units[] {
  const longest = (unit: readonly Able[]): number => Math.max(...unit.map((one) => one.seconds.get(printer.id)!));
  const highest = (unit: readonly Able[]): number => Math.max(...unit.map(({ item }) => item.heightMm));
  const keys = [longest, highest];
  const ways = keys.map((key, k) => {
    const other = keys[1 - k]!;
    const list = [...units].sort(
      (a, b) => key(b) - key(a) || other(b) - other(a) || (a[0]!.item.copyId < b[0]!.item.copyId ? -1 : 1),
    );
    const cut = batches(list.length, costOfRuns(list, printer, bench, options));
    return { cost: cut.cost, parts: cut.runs.map((run) => run.map((at) => list[at]!)) };
  });
  return ways[1]!.cost < ways[0]!.cost * (1 - 1e-9) ? ways[1]!.parts : ways[0]!.parts;
}

function costOfRuns(
  list: Units,
  printer: Printer,
  bench: Bench,
  { seconds, handlingS }: FillOptions,
): (from: number, to: number) => number {
  const { areaMm2 } = plateOf(bench.shapes, printer);
  const areas = list.map((unit) => unit.reduce((sum, { item }) => sum + gappedAreaMm2(bench, item), 0));
  const isAlone = list.map(
    (unit, k) =>
      unit.some(({ item }) => item.shows === true) &&
      (areas[k]! > LARGE_SHARE * areaMm2 || unit.some((one) => one.seconds.get(printer.id)! >= LARGE_S)),
  );
  return (from, to) => {
    const copies = list.slice(from, to).flat();
    const items = copies.map(({ item }) => item);
    const durationS = seconds(items, printer);
    if (to > from + 1) {
      const area = areas.slice(from, to).reduce((a, b) => a + b, 0);
      if (durationS > printer.longestRunS || area > FILL * areaMm2 || areKeptApart(copies)) return Infinity;
      for (let k = from; k < to; k++) if (isAlone[k]) return Infinity;
    }
    const massG = items.reduce((sum, item) => sum + choiceOf(item, printer).massG, 0);
    // The plate's seconds have the warming up in them.
    const run = { durationS, massG, copies: items.length, startS: HANDS_ON_WEIGHT * handlingS };
    const { expectedS, expectedG } = runCost(run, printer);
    return expectedS + S_PER_G * (expectedG - massG);
  };
}

/** Lays units on a plate; a unit of which not all copies find a place is taken off again. */
export function fillPlate(
  units: Units,
  printer: Printer,
  bench: Bench,
  { rounds, seed, stop, seconds }: FillOptions,
): { plate: FilledPlate | undefined; left: Units } {
  let kept = units.filter((unit) => unit.length === 1 || mayLieTogether(unit, printer, seconds));
  while (kept.length > 0) {
    const copies = kept.flat();
    const found = arrange(
      copies.map((one) => forPrinter(one, printer, bench)),
      printer,
      bench,
      { rounds, seed, stop },
    );
    const leftIds = new Set(found.left.map(({ copyId }) => copyId));
    const whole = kept.filter((unit) => unit.every(({ item }) => !leftIds.has(item.copyId)));
    const torn = kept.some((unit) => !whole.includes(unit) && unit.some(({ item }) => !leftIds.has(item.copyId)));
    if (!torn) {
      const on = whole.flat();
      const left = units.filter((unit) => !whole.includes(unit));
      return { plate: on.length === 0 ? undefined : { printer, copies: on, found }, left };
    }
    kept = whole;
  }
  return { plate: undefined, left: units };
}

function mayLieTogether(unit: readonly Able[], printer: Printer, seconds: SecondsFor): boolean {
  const items = unit.map(({ item }) => item);
  return seconds(items, printer) <= printer.longestRunS && !areKeptApart(unit);
}
