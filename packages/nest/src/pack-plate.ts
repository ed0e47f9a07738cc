import type { Printer } from '@stonehand/model';
import { type Arrangement, arrange, type Bench } from './arrange.ts';
import { fitAlone } from './fit-alone.ts';
import { DEFAULT_TURNS_DEG, type NestItem, newShapes } from './nest-item.ts';

export type PlateOptions = Readonly<{
  /** between two pieces, beside their brims */
  clearanceMm?: number;
  /** most rounds of the search for one plate; see EVALUATIONS_PER_ROUND */
  rounds?: number;
  seed?: number;
  turnsDeg?: readonly number[];
  stop?: () => boolean;
}>;

// Room for a scraper and for warped edges between pieces: common practice, no source.
export const CLEARANCE_MM = 3;
export const PLATE_ROUNDS = 400;

/**
 * Lays copies on one printer's plate: as many as the search finds room for, largest first. Copies that are too high or
 * that have no choice for this printer are left. Placed: outline turned about its own origin, then moved by x, y.
 */
export function packPlate(
  items: readonly NestItem[],
  printer: Printer,
  {
    clearanceMm = CLEARANCE_MM,
    rounds = PLATE_ROUNDS,
    seed = 1,
    turnsDeg = DEFAULT_TURNS_DEG,
    stop,
  }: PlateOptions = {},
): Arrangement {
  const bench: Bench = { shapes: newShapes(clearanceMm), store: new Map(), turnsDeg };
  const left: NestItem[] = [];
  const able: NestItem[] = [];
  for (const item of items) {
    const turns = mayPrint(item, printer) ? fitAlone(item, printer, bench, seed) : undefined;
    if (turns === undefined) left.push(item);
    else able.push(turns === turnsDeg ? item : { ...item, turnsDeg: turns });
  }
  const found = arrange(able, printer, bench, { rounds, seed, stop });
  const leftIds = new Set(found.left.map((item) => item.copyId));
  return { ...found, left: items.filter((item) => left.includes(item) || leftIds.has(item.copyId)) };
}

export function mayPrint(item: NestItem, printer: Printer): boolean {
  return (
    item.choices.some((choice) => choice.printerId === printer.id) &&
    (item.pinned === undefined || item.pinned === printer.id) &&
    item.heightMm <= printer.heightMm
  );
}
