import type { Printer, Search } from '@stonehand/model';
import { type Able, ableCopies, choiceOf, groupsOf, type SecondsFor } from './able-copies.ts';
import type { Bench } from './arrange.ts';
import { assign } from './assign.ts';
import { fewestPlates } from './fewest-plates.ts';
import { type KeptPlate, keptPlates } from './kept-plates.ts';
import { DEFAULT_TURNS_DEG, type NestItem, newShapes } from './nest-item.ts';
import { CLEARANCE_MM, PLATE_ROUNDS, type PlateOptions } from './pack-plate.ts';
import { hoursSearch, leastPlates, platesSearch } from './plate-bounds.ts';
import { draftOf, type PlateDraft } from './plate-draft.ts';
import { type FilledPlate, type FillOptions, surestPlates } from './surest-plates.ts';

/**
 * surest: the least expected hours and grams, with what fails and is printed again. fewest: the least number of plates, whatever
 * one failure then costs.
 */
export type PlatesAim = 'surest' | 'fewest';

export type PlatesOptions = PlateOptions &
  Readonly<{
    aim?: PlatesAim;
    /** seconds of a plate with these copies on this printer, warming up included; default: the sum of the copies' durations */
    plateSeconds?: SecondsFor;
    /** seconds that these copies add to any plate at least, for the bound; default with plateSeconds: unknown */
    leastSeconds?: SecondsFor;
    /** hands-on time of one more plate: clearing, starting, watching the first layer */
    handlingS?: number;
    /** plates that stay as they are as far as they can */
    kept?: readonly KeptPlate[];
  }>;

export type PlatesResult = Readonly<{
  plates: readonly PlateDraft[];
  unplaced: readonly Readonly<{ copyId: string; reason: string }>[];
  searches: readonly Search[];
  /** what was asked for and could not be kept, in words */
  notes: readonly string[];
}>;

// "Each start takes 10 to 15 minutes" (practice of owners; no source).
export const HANDLING_S = 900;

/**
 * Which copies lie where on which plate of which printer. Copies that share material and recipe share plates; what cannot be
 * placed is named with its reason. Same input and seed, same plates, whatever the order of the copies.
 */
export function packPlates(
  items: readonly NestItem[],
  printers: readonly Printer[],
  options: PlatesOptions = {},
): PlatesResult {
  const { clearanceMm = CLEARANCE_MM, seed = 1, rounds = PLATE_ROUNDS, turnsDeg = DEFAULT_TURNS_DEG } = options;
  const bench: Bench = { shapes: newShapes(clearanceMm), store: new Map(), turnsDeg };
  const seconds = options.plateSeconds ?? sumOfDurations;
  const fill: FillOptions = { rounds, seed, seconds, handlingS: options.handlingS ?? HANDLING_S, stop: options.stop };
  const { able, unplaced } = ableCopies(items, printers, bench, seed, seconds);
  const leastSeconds = options.leastSeconds ?? (options.plateSeconds === undefined ? sumOfDurations : undefined);
  const { plates, rest, notes } = keptPlates(options.kept ?? [], able, printers, bench, seconds);
  const made =
    options.aim === 'fewest' ? fewest(rest, printers, bench, fill, leastSeconds) : surest(rest, printers, bench, fill);
  const searches: Search[] = [];
  for (const { found, copies, printer } of made.filled) {
    const on = copies.map(({ item }) => item);
    plates.push(draftOf(found.placed, found.usedShare, on, printer, seconds));
    searches.push({ ...found.search, what: `${found.search.what}: ${plates.at(-1)!.name}` });
  }
  for (const { item } of made.tight) {
    const reason = `fits so tightly that the search found no place in ${rounds} rounds`;
    unplaced.push({ copyId: item.copyId, reason });
  }
  if (able.length > 0) {
    const facts = { rounds, seed };
    searches.push(hoursSearch(able, printers, plates, facts));
    searches.push(platesSearch(able, printers, bench, plates, leastSeconds, facts));
  }
  return { plates, unplaced, searches, notes: [...notes, ...tornApart(items, plates)] };
}

type Made = Readonly<{ filled: readonly FilledPlate[]; tight: readonly Able[] }>;

/** A printer for each copy, hours balanced; then each printer's plates by expected cost. */
function surest(able: readonly Able[], printers: readonly Printer[], bench: Bench, fill: FillOptions): Made {
  const ids = printers.map((printer) => printer.id);
  const chosen = assign(able, ids);
  const made = printers.flatMap((printer) =>
    groupsOf(able.filter((_, i) => chosen[i] === printer.id)).map((group) => surestPlates(group, printer, bench, fill)),
  );
  return { filled: made.flatMap(({ filled }) => filled), tight: made.flatMap(({ tight }) => tight) };
}

/** Group by group; plates in the order of the printers. */
function fewest(
  able: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  fill: FillOptions,
  leastSeconds: SecondsFor | undefined,
): Made {
  const load = new Map<string, number>();
  const made = groupsOf(able).map((group) =>
    fewestPlates(group, printers, bench, fill, load, leastPlates(group, printers, bench, leastSeconds)),
  );
  const filled = made.flatMap((one) => one.filled);
  const rank = (plate: FilledPlate): number => printers.indexOf(plate.printer);
  return { filled: filled.sort((a, b) => rank(a) - rank(b)), tight: made.flatMap(({ tight }) => tight) };
}

function sumOfDurations(copies: readonly NestItem[], printer: Printer): number {
  return copies.reduce((sum, copy) => sum + choiceOf(copy, printer).durationS, 0);
}

/** Copies that were to lie together and do not. */
function tornApart(items: readonly NestItem[], plates: readonly PlateDraft[]): string[] {
  const plateOfCopy = new Map(plates.flatMap((plate, k) => plate.copyIds.map((copyId) => [copyId, k] as const)));
  const on = new Map<string, Set<number>>();
  for (const { copyId, together } of items) {
    const at = plateOfCopy.get(copyId);
    if (together === undefined || at === undefined) continue;
    on.set(together, (on.get(together) ?? new Set()).add(at));
  }
  return [...on]
    .filter(([, at]) => at.size > 1)
    .map(([word, at]) => `what is to lie together as "${word}" is on ${at.size} plates: no one plate and run takes it`);
}
