import type { Placed, Printer } from '@stonehand/model';
import { type Able, areKeptApart, bedKey, forPrinter, gappedAreaMm2, unitsOf } from './able-copies.ts';
import { arrange, type Bench } from './arrange.ts';
import { plateOf } from './nest-item.ts';
import { type FilledPlate, type FillOptions, fillPlate } from './surest-plates.ts';

type Unit = readonly Able[];

/**
 * All copies of one material and recipe on as few plates as the search finds, on whatever printers: the largest copies onto the
 * roomiest printer that takes them, the rest of that plate with what still goes; then the emptiest plate is emptied into the
 * others as often as that succeeds; then plates move to printers with less to do.
 * @param load seconds each printer has already; grows by what is added
 * @param least plates that no arrangement can do without
 */
export function fewestPlates(
  group: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  options: FillOptions,
  load: Map<string, number>,
  least: number,
): { filled: FilledPlate[]; tight: Able[] } {
  const areaOf = (unit: Unit): number => unit.reduce((sum, { item }) => sum + gappedAreaMm2(bench, item), 0);
  const bySize = (units: readonly Unit[]): Unit[] =>
    [...units].sort((a, b) => areaOf(b) - areaOf(a) || (a[0]!.item.copyId < b[0]!.item.copyId ? -1 : 1));
  const filled: FilledPlate[] = [];
  const tight: Able[] = [];
  let rest = bySize(unitsOf(group));
  while (rest.length > 0) {
    const printer = roomiest(rest[0]!, printers, bench, load);
    const lead = rest[0]!;
    const picked = printer === undefined ? [] : pick(rest, printer, bench, options, areaOf);
    const plate = printer === undefined ? undefined : fillPlate(picked, printer, bench, options).plate;
    if (plate === undefined || printer === undefined) {
      // No one plate takes them together: each for itself. A lone copy that fitted an empty plate before fits too tightly to be found.
      if (lead.length > 1) rest = bySize([...lead.map((one) => [one]), ...rest.slice(1)]);
      else {
        tight.push(...lead);
        rest = rest.slice(1);
      }
      continue;
    }
    const topped = topUp(plate, rest, bench, options, areaOf);
    filled.push(topped);
    load.set(printer.id, (load.get(printer.id) ?? 0) + secondsOf(topped, options));
    const on = new Set(topped.copies.map(({ item }) => item.copyId));
    rest = rest.filter((unit) => !on.has(unit[0]!.item.copyId));
  }
  if (filled.length > least) emptyOut(filled, bench, options);
  return { filled: relieved(filled, printers, bench, options), tight };
}

function secondsOf({ copies, printer }: Pick<FilledPlate, 'copies' | 'printer'>, { seconds }: FillOptions): number {
  return seconds(
    copies.map(({ item }) => item),
    printer,
  );
}

/** The printer with most room that takes all copies of a unit; of equal ones the one with least to do. */
function roomiest(
  unit: Unit,
  printers: readonly Printer[],
  bench: Bench,
  load: ReadonlyMap<string, number>,
): Printer | undefined {
  const able = printers.filter((printer) => unit.every((one) => one.seconds.has(printer.id)));
  const room = (printer: Printer): number => plateOf(bench.shapes, printer).areaMm2;
  const rank = (printer: Printer): number => printers.indexOf(printer);
  return able.sort(
    (a, b) => room(b) - room(a) || (load.get(a.id) ?? 0) - (load.get(b.id) ?? 0) || rank(a) - rank(b),
  )[0];
}

/** Largest first as long as area and the longest run allow: a plate's full area, so that the search says what does not go. */
function pick(
  rest: readonly Unit[],
  printer: Printer,
  bench: Bench,
  options: FillOptions,
  areaOf: (unit: Unit) => number,
): Unit[] {
  const { areaMm2 } = plateOf(bench.shapes, printer);
  const picked: Unit[] = [];
  let copies: Able[] = [];
  let area = 0;
  for (const unit of rest) {
    if (picked.length > 0 && area + areaOf(unit) > areaMm2) continue;
    if (!goesWith(copies, unit, printer, options)) continue;
    picked.push(unit);
    copies = [...copies, ...unit];
    area += areaOf(unit);
  }
  return picked;
}

function goesWith(copies: readonly Able[], unit: Unit, printer: Printer, { seconds }: FillOptions): boolean {
  if (!unit.every((one) => one.seconds.has(printer.id))) return false;
  const all = [...copies, ...unit];
  if (areKeptApart(all)) return false;
  return (
    all.length === 1 ||
    seconds(
      all.map(({ item }) => item),
      printer,
    ) <= printer.longestRunS
  );
}

/** Small copies into what is still free, unmoved the rest. */
function topUp(
  plate: FilledPlate,
  rest: readonly Unit[],
  bench: Bench,
  options: FillOptions,
  areaOf: (unit: Unit) => number,
): FilledPlate {
  const { areaMm2 } = plateOf(bench.shapes, plate.printer);
  let now = plate;
  const on = new Set(plate.copies.map(({ item }) => item.copyId));
  const refused = new Set<string>();
  let area = plate.copies.reduce((sum, one) => sum + gappedAreaMm2(bench, one.item), 0);
  for (const unit of rest) {
    const key = kindOf(unit);
    if (on.has(unit[0]!.item.copyId) || refused.has(key) || area + areaOf(unit) > areaMm2) continue;
    if (!goesWith(now.copies, unit, plate.printer, options)) continue;
    const added = withUnit(now, unit, bench, options, 0);
    if (added === undefined) refused.add(key);
    else {
      now = added;
      area += areaOf(unit);
    }
  }
  return now;
}

function kindOf(unit: Unit): string {
  return unit.map(({ item }) => JSON.stringify([item.footprint, item.brimMm])).join();
}

/** A plate with a unit more, or undefined when the search finds no room for it. */
function withUnit(
  plate: FilledPlate,
  unit: Unit,
  bench: Bench,
  { seed, stop }: FillOptions,
  rounds: number,
): FilledPlate | undefined {
  const copies = [...plate.copies, ...unit];
  const start: readonly Placed[] = plate.found.placed;
  const items = copies.map((one) => forPrinter(one, plate.printer, bench));
  const found = arrange(items, plate.printer, bench, { rounds, seed, stop, start });
  return found.left.length === 0 ? { ...plate, copies, found } : undefined;
}

// Rounds for one more unit on a plate where it is not free at once, as a share of those for a whole plate.
const SQUEEZE = 0.25;

// Units squeezed into plates, for each plate that there is, before the search for fewer ends.
const SQUEEZES = 6;

/** Takes the emptiest plate away as long as all its copies find room on others. */
function emptyOut(filled: FilledPlate[], bench: Bench, options: FillOptions): void {
  const budget = { squeezes: SQUEEZES * filled.length };
  const used = (plate: FilledPlate): number =>
    plate.copies.reduce((sum, { item }) => sum + gappedAreaMm2(bench, item), 0);
  const tried = new Set<FilledPlate>();
  for (;;) {
    const open = filled.filter((plate) => !tried.has(plate)).sort((a, b) => used(a) - used(b));
    const victim = open[0];
    if (victim === undefined || budget.squeezes <= 0 || options.stop?.() === true) return;
    tried.add(victim);
    const others = filled.filter((plate) => plate !== victim);
    const room = others.reduce(
      (sum, plate) => sum + plateOf(bench.shapes, plate.printer).areaMm2 * MOST_FILL - used(plate),
      0,
    );
    if (room < used(victim)) return;
    const moved = spread(victim, others, bench, options, used, budget);
    if (moved === undefined) continue;
    filled.splice(0, filled.length, ...moved);
    tried.clear();
  }
}

// With its gaps, no plate of unlike outlines was ever seen fuller than this.
const MOST_FILL = 0.95;

function spread(
  victim: FilledPlate,
  others: readonly FilledPlate[],
  bench: Bench,
  options: FillOptions,
  used: (plate: FilledPlate) => number,
  budget: { squeezes: number },
): FilledPlate[] | undefined {
  const now = [...others];
  const units = unitsOf(victim.copies);
  const area = (unit: Unit): number => unit.reduce((sum, { item }) => sum + gappedAreaMm2(bench, item), 0);
  for (const unit of [...units].sort((a, b) => area(b) - area(a))) {
    const order = now.map((_, k) => k).sort((a, b) => used(now[a]!) - used(now[b]!) || a - b);
    const at = order.find((k) => {
      const plate = now[k]!;
      const { areaMm2 } = plateOf(bench.shapes, plate.printer);
      if (used(plate) + area(unit) > MOST_FILL * areaMm2 || !goesWith(plate.copies, unit, plate.printer, options))
        return false;
      if (budget.squeezes-- <= 0) return false;
      const more = withUnit(plate, unit, bench, options, Math.ceil(SQUEEZE * options.rounds));
      if (more !== undefined) now[k] = more;
      return more !== undefined;
    });
    if (at === undefined) return undefined;
  }
  return now;
}

/** Plates of the busiest printer move to one where all of them fits and which then ends sooner; longest moves first. */
function relieved(
  filled: readonly FilledPlate[],
  printers: readonly Printer[],
  bench: Bench,
  options: FillOptions,
): FilledPlate[] {
  const now = [...filled];
  const load = new Map(printers.map(({ id }) => [id, 0]));
  for (const plate of now) load.set(plate.printer.id, load.get(plate.printer.id)! + secondsOf(plate, options));
  for (let step = 0; step < now.length; step++) {
    const busiest = printers.reduce((a, b) => (load.get(b.id)! > load.get(a.id)! ? b : a));
    const moved = moveOne(now, busiest, printers, load, bench, options);
    if (moved === undefined) return now;
    const [k, plate] = moved;
    load.set(busiest.id, load.get(busiest.id)! - secondsOf(now[k]!, options));
    load.set(plate.printer.id, load.get(plate.printer.id)! + secondsOf(plate, options));
    now[k] = plate;
  }
  return now;
}

function moveOne(
  now: readonly FilledPlate[],
  busiest: Printer,
  printers: readonly Printer[],
  load: ReadonlyMap<string, number>,
  bench: Bench,
  options: FillOptions,
): readonly [number, FilledPlate] | undefined {
  const own = now.map((_, k) => k).filter((k) => now[k]!.printer === busiest);
  own.sort((a, b) => secondsOf(now[b]!, options) - secondsOf(now[a]!, options) || a - b);
  const idle = [...printers].filter((p) => p !== busiest).sort((a, b) => load.get(a.id)! - load.get(b.id)!);
  for (const printer of idle) {
    for (const k of own) {
      const { copies } = now[k]!;
      if (!copies.every((one) => one.seconds.has(printer.id))) continue;
      const takes = secondsOf({ copies, printer }, options);
      if (takes > printer.longestRunS || load.get(printer.id)! + takes >= load.get(busiest.id)! - 60) continue;
      const found = movedTo(now[k]!, printer, bench, options);
      if (found !== undefined) return [k, found];
    }
  }
  return undefined;
}

function movedTo(plate: FilledPlate, printer: Printer, bench: Bench, options: FillOptions): FilledPlate | undefined {
  if (bedKey(printer) === bedKey(plate.printer)) return { ...plate, printer };
  const { rounds, seed, stop } = options;
  const items = plate.copies.map((one) => forPrinter(one, printer, bench));
  const area = plate.copies.reduce((sum, { item }) => sum + gappedAreaMm2(bench, item), 0);
  if (area > MOST_FILL * plateOf(bench.shapes, printer).areaMm2) return undefined;
  const found = arrange(items, printer, bench, { rounds: Math.ceil(SQUEEZE * rounds), seed, stop });
  return found.left.length === 0 ? { printer, copies: plate.copies, found } : undefined;
}
