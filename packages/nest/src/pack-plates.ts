import { formatDuration, formatLength, hashValue } from '@stonehand/base';
import type { Plate, Printer, Search } from '@stonehand/model';
import { arrange, type Bench } from './arrange.ts';
import { assign, type Job } from './assign.ts';
import { batches } from './batches.ts';
import { fitAlone } from './fit-alone.ts';
import { DEFAULT_TURNS_DEG, type NestItem, newShapes, plateOf, shapeOfItem } from './nest-item.ts';
import { CLEARANCE_MM, mayPrint, PLATE_ROUNDS, type PlateOptions } from './pack-plate.ts';
import { plateName } from './plate-name.ts';

/** A plate whose grams and seconds are plain sums still; the intervals come from the estimates. */
export type PlateDraft = Readonly<
  Omit<Plate, 'massG' | 'durationS'> & { copyIds: readonly string[]; massG: number; durationS: number }
>;

export type PlatesOptions = PlateOptions &
  Readonly<{
    /** seconds of a plate with these copies on this printer, warming up aside; default: the sum of the copies' durations */
    plateSeconds?: (copies: readonly NestItem[], printer: Printer) => number;
    /** hands-on time of one more plate: clearing, starting, watching the first layer */
    handlingS?: number;
  }>;

export type PlatesResult = Readonly<{
  plates: readonly PlateDraft[];
  unplaced: readonly Readonly<{ copyId: string; reason: string }>[];
  searches: readonly Search[];
}>;

// "Each start takes 10 to 15 minutes" (practice of owners; no source).
const HANDLING_S = 900;
// "Tuned machines fail perhaps 0.5 % per hour": used where a printer's own record says 0.
const FAIL_PER_HOUR = 0.005;

/**
 * Which copies lie where on which plate of which printer. Copies that share material and recipe share plates; hours are
 * balanced over the printers; long pieces lie alone or with few, short ones together (see `batches`). What cannot be
 * placed is named with its reason. Same input and seed, same plates, whatever the order of the copies.
 */
export function packPlates(
  items: readonly NestItem[],
  printers: readonly Printer[],
  options: PlatesOptions = {},
): PlatesResult {
  const { clearanceMm = CLEARANCE_MM, seed = 1, turnsDeg = DEFAULT_TURNS_DEG } = options;
  const bench: Bench = { shapes: newShapes(clearanceMm), store: new Map(), turnsDeg };
  const unplaced: { copyId: string; reason: string }[] = [];
  const able: Able[] = [];
  const sorted = [...items].sort((a, b) => (a.copyId < b.copyId ? -1 : a.copyId > b.copyId ? 1 : 0));
  const fits = new Map<string, readonly number[] | undefined>();
  for (const item of sorted) {
    const judged = judge(item, printers, bench, seed, secondsFor(options), fits);
    if (typeof judged === 'string') unplaced.push({ copyId: item.copyId, reason: judged });
    else able.push(judged);
  }
  const chosen = assign(
    able,
    printers.map((printer) => printer.id),
  );
  const plates: PlateDraft[] = [];
  const searches: Search[] = [];
  for (const printer of printers) {
    for (const group of groupsOf(able.filter((_, i) => chosen[i] === printer.id))) {
      fillPlates(group, printer, bench, options, plates, searches, unplaced);
    }
  }
  if (able.length > 0)
    searches.push(hoursSearch(able, printers, plates, options), platesSearch(able, printers, bench, plates, options));
  return { plates, unplaced, searches };
}

type Able = Job & Readonly<{ item: NestItem; turns: ReadonlyMap<string, readonly number[]> }>;
type SecondsFor = (copies: readonly NestItem[], printer: Printer) => number;

function secondsFor({ plateSeconds }: PlatesOptions): SecondsFor {
  return (
    plateSeconds ?? ((copies, printer) => copies.reduce((sum, copy) => sum + choiceOf(copy, printer).durationS, 0))
  );
}

function choiceOf(item: NestItem, printer: Printer): NestItem['choices'][number] {
  return item.choices.find((choice) => choice.printerId === printer.id)!;
}

/** Where a copy can be printed, or in words why nowhere. */
function judge(
  item: NestItem,
  printers: readonly Printer[],
  bench: Bench,
  seed: number,
  seconds: SecondsFor,
  fits: Map<string, readonly number[] | undefined>,
): Able | string {
  const reasons: string[] = [];
  const able = new Map<string, number>();
  const turns = new Map<string, readonly number[]>();
  for (const choice of item.choices) {
    const printer = printers.find((p) => p.id === choice.printerId);
    if (printer === undefined || (item.pinned !== undefined && item.pinned !== printer.id)) continue;
    if (!mayPrint(item, printer)) {
      reasons.push(`${formatLength(item.heightMm)} high, ${printer.id} prints ${formatLength(printer.heightMm)}`);
      continue;
    }
    const durationS = seconds([item], printer);
    if (durationS > printer.longestRunS) {
      reasons.push(
        `takes ${formatDuration(durationS)} on ${printer.id}, its longest run is ${formatDuration(printer.longestRunS)}`,
      );
      continue;
    }
    const shape = shapeOfItem(bench.shapes, item);
    const key = `${printer.id} ${shape.key} ${shape.wallMm} ${item.turnsDeg?.join(',') ?? ''}`;
    if (!fits.has(key)) fits.set(key, fitAlone(item, printer, bench, seed));
    const fit = fits.get(key);
    if (fit === undefined) reasons.push(`its outline with brim fits ${printer.id} at no turn that was tried`);
    else {
      able.set(printer.id, durationS);
      turns.set(printer.id, fit);
    }
  }
  if (able.size > 0) return { item, seconds: able, family: item.family, turns };
  if (reasons.length > 0) return reasons.join('; ');
  if (item.pinned !== undefined) return `kept for ${item.pinned}, which is not among the printers it can go to`;
  return 'no printer at hand is among those it can go to';
}

/** Copies of one material and recipe, in the order of their names. */
function groupsOf(able: readonly Able[]): Able[][] {
  const groups = new Map<string, Able[]>();
  for (const one of able) {
    const key = JSON.stringify([one.item.materialId, one.item.recipeId]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups].sort((a, b) => (a[0] < b[0] ? -1 : 1)).map(([, group]) => group);
}

function fillPlates(
  group: readonly Able[],
  printer: Printer,
  bench: Bench,
  options: PlatesOptions,
  plates: PlateDraft[],
  searches: Search[],
  unplaced: { copyId: string; reason: string }[],
): void {
  const { rounds = PLATE_ROUNDS, seed = 1, handlingS = HANDLING_S, stop } = options;
  const seconds = secondsFor(options);
  const plate = plateOf(bench.shapes, printer);
  let rest = [...group].sort(
    (a, b) => b.seconds.get(printer.id)! - a.seconds.get(printer.id)! || (a.item.copyId < b.item.copyId ? -1 : 1),
  );
  while (rest.length > 0) {
    const parts = batches(
      rest.map(({ item }) => gappedAreaMm2(bench, item)),
      (from, to) =>
        seconds(
          rest.slice(from, to).map(({ item }) => item),
          printer,
        ),
      {
        startS: handlingS + printer.warmUpS,
        failPerHour: printer.failPerHour > 0 ? printer.failPerHour : FAIL_PER_HOUR,
        longestRunS: printer.longestRunS,
        usableMm2: plate.areaMm2,
      },
    );
    const batch = parts[0]!.map((k) => rest[k]!);
    const copies = batch.map(({ item, turns }) => withTurns(item, turns.get(printer.id)!, bench));
    let found = arrange(copies, printer, bench, { rounds, seed, stop });
    if (found.placed.length === 0 && copies.length > 1) {
      found = arrange(copies.slice(0, 1), printer, bench, { rounds, seed, stop });
    }
    const ids = new Set(found.placed.map((placed) => placed.copyId));
    const on = batch.filter(({ item }) => ids.has(item.copyId));
    if (on.length === 0) {
      // Fitted an empty plate before, so tightly that the search did not find it again.
      const { copyId } = batch[0]!.item;
      unplaced.push({
        copyId,
        reason: `fits ${printer.id} so tightly that the search found no place in ${rounds} rounds`,
      });
      rest = rest.slice(1);
      continue;
    }
    plates.push(
      draftOf(
        found,
        on.map(({ item }) => item),
        printer,
        seconds,
      ),
    );
    searches.push({ ...found.search, what: `${found.search.what}: ${plates.at(-1)!.name}` });
    rest = rest.filter(({ item }) => !ids.has(item.copyId));
  }
}

function withTurns(item: NestItem, turns: readonly number[], bench: Bench): NestItem {
  return turns === bench.turnsDeg || turns === item.turnsDeg ? item : { ...item, turnsDeg: turns };
}

/** Room that a copy takes with half its gap around it: area + gap · perimeter of the hull, near enough for a first cut. */
function gappedAreaMm2(bench: Bench, item: NestItem): number {
  const shape = shapeOfItem(bench.shapes, item);
  return shape.areaMm2 + shape.marginMm * 2 * Math.sqrt(Math.PI * shape.hullAreaMm2);
}

function draftOf(
  found: ReturnType<typeof arrange>,
  on: readonly NestItem[],
  printer: Printer,
  seconds: SecondsFor,
): PlateDraft {
  const copyIds = found.placed.map((placed) => placed.copyId);
  return {
    id: hashValue({ printerId: printer.id, placed: found.placed }),
    name: plateName(copyIds, printer.id),
    printerId: printer.id,
    materialIds: [on[0]!.materialId],
    recipeId: on[0]!.recipeId,
    placed: found.placed,
    heightMm: Math.max(...on.map((item) => item.heightMm)),
    usedShare: found.usedShare,
    copyIds,
    massG: on.reduce((sum, item) => sum + choiceOf(item, printer).massG, 0),
    durationS: seconds(on, printer),
  };
}

/** Busiest printer's hours against the longest copy at its fastest, and all copies at their fastest shared evenly. */
function hoursSearch(
  able: readonly Able[],
  printers: readonly Printer[],
  plates: readonly PlateDraft[],
  { rounds = PLATE_ROUNDS, seed = 1 }: PlatesOptions,
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

/** Number of plates against area: each material and recipe needs at least its area over the largest plate. */
function platesSearch(
  able: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  plates: readonly PlateDraft[],
  { rounds = PLATE_ROUNDS, seed = 1 }: PlatesOptions,
): Search {
  const largest = Math.max(...printers.map((printer) => plateOf(bench.shapes, printer).areaMm2));
  const bound = groupsOf(able).reduce((sum, group) => {
    const area = group.reduce((all, { item }) => all + shapeOfItem(bench.shapes, item).areaMm2, 0);
    return sum + Math.max(1, Math.ceil((area / largest) * (1 - 1e-9)));
  }, 0);
  const ended = plates.length <= bound ? 'proven' : 'rounds';
  return { what: 'plates', value: plates.length, bound, rounds, seed, ended };
}
