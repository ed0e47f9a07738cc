import type { Printer, Search } from '@stonehand/model';
import { type Able, bedKey, forPrinter, groupsOf, type SecondsFor } from './able-copies.ts';
import type { Bench } from './arrange.ts';
import { alwaysCoversCentre } from './bound.ts';
import { layoutOf } from './layout.ts';
import { plateOf, shapeOfItem, turnsOf } from './nest-item.ts';
import { ringAreaMm2 } from './outline.ts';
import type { PlateDraft } from './plate-draft.ts';
import type { Shape } from './shape.ts';

type Facts = Readonly<{ rounds: number; seed: number }>;

/** Busiest printer's hours against the longest copy at its fastest, and all copies at their fastest shared evenly. */
export function hoursSearch(
  able: readonly Able[],
  printers: readonly Printer[],
  plates: readonly PlateDraft[],
  { rounds, seed }: Facts,
): Search {
  const fastest = able.map(({ item, seconds }) =>
    Math.min(...item.choices.filter((choice) => seconds.has(choice.printerId)).map((choice) => choice.durationS)),
  );
  const busy = printers.map((printer) =>
    plates.filter((plate) => plate.printerId === printer.id).reduce((sum, plate) => sum + plate.durationS, 0),
  );
  const used = new Set(able.flatMap(({ seconds }) => [...seconds.keys()])).size;
  const value = Math.max(...busy) / 3600;
  const bound = Math.max(Math.max(...fastest), fastest.reduce((a, b) => a + b, 0) / used) / 3600;
  const ended = value <= bound * (1 + 1e-9) ? 'proven' : 'rounds';
  return { what: 'hours on the busiest printer', value, bound, rounds, seed, ended };
}

/**
 * Number of plates against what no arrangement can beat: each material and recipe needs at least its outlines' area, grown by
 * half the gap, over the largest plate's, one plate for each copy that always covers the middle, and at least the seconds of its copies, each at its best, over the longest run.
 */
export function platesSearch(
  able: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  plates: readonly PlateDraft[],
  leastSeconds: SecondsFor | undefined,
  { rounds, seed }: Facts,
): Search {
  const bound = groupsOf(able).reduce((sum, group) => sum + leastPlates(group, printers, bench, leastSeconds), 0);
  const ended = plates.length <= bound ? 'proven' : 'rounds';
  return { what: 'plates', value: plates.length, bound, rounds, seed, ended };
}

/** For copies of one material and recipe; see `platesSearch`. */
export function leastPlates(
  group: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  leastSeconds: SecondsFor | undefined,
): number {
  const used = printers.filter((printer) => group.some((one) => one.seconds.has(printer.id)));
  const largest = Math.max(...used.map((printer) => grownPlateMm2(printer, bench.shapes.clearanceMm / 2)));
  const area = group.reduce((sum, { item }) => sum + grownAreaMm2(shapeOfItem(bench.shapes, item)), 0);
  // A copy that some printer cannot take keeps the bound by hours from being that of the quickest printer.
  const byTime =
    leastSeconds === undefined
      ? 1
      : group.reduce((sum, one) => {
          const shares = used.flatMap((printer) =>
            one.seconds.has(printer.id) ? [leastSeconds([one.item], printer) / printer.longestRunS] : [],
          );
          return sum + Math.min(...shares);
        }, 0);
  return Math.max(
    1,
    Math.ceil((area / largest) * (1 - 1e-9)),
    Math.ceil(byTime * (1 - 1e-9)),
    lonelyCopies(group, used, bench),
  );
}

/** Copies that cover the middle of every plate they may lie on, at every allowed turn: no two of them share one. */
function lonelyCopies(group: readonly Able[], printers: readonly Printer[], bench: Bench): number {
  const known = new Map<string, boolean>();
  const covers = (one: Able, printer: Printer): boolean => {
    const item = forPrinter(one, printer, bench);
    const shape = shapeOfItem(bench.shapes, item);
    const turns = turnsOf(bench.shapes, shape, item.turnsDeg ?? bench.turnsDeg);
    const key = `${bedKey(printer)} ${shape.key} ${shape.wallMm} ${turns.join(',')}`;
    let covered = known.get(key);
    if (covered === undefined) {
      const plate = plateOf(bench.shapes, printer);
      const layout = layoutOf({ shapes: [shape], turnsDeg: [turns], items: [0], containers: [plate], tolMm: 1e-9 });
      covered = alwaysCoversCentre(layout, 0, plate);
      known.set(key, covered);
    }
    return covered;
  };
  return group.filter((one) => printers.every((printer) => !one.seconds.has(printer.id) || covers(one, printer)))
    .length;
}

/**
 * Area of a shape grown by its margin, from below: √(grown) ≥ √(area) + √(disc) (Brunn–Minkowski). Grown shapes of two copies
 * that keep their gap do not overlap, so their areas add up.
 */
function grownAreaMm2({ areaMm2, marginMm }: Shape): number {
  return (Math.sqrt(areaMm2) + Math.sqrt(Math.PI) * Math.max(0, marginMm)) ** 2;
}

/** Grown shapes reach over the edge by half the clearance: area of the usable outline grown by that, from above. */
function grownPlateMm2({ usable }: Printer, gapMm: number): number {
  let perimeter = 0;
  usable.forEach(([x, y], i) => {
    const [nx, ny] = usable[(i + 1) % usable.length]!;
    perimeter += Math.hypot(nx - x, ny - y);
  });
  return Math.abs(ringAreaMm2(usable)) + perimeter * gapMm + Math.PI * gapMm * gapMm;
}
