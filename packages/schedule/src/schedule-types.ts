import type { Figure, Hours, Instant, Material, Plate, Printer, Run, Search, Spool, Todo } from '@stonehand/model';
import type { PresenceSpan } from './presence.ts';

export type PlateToRun = Readonly<{
  plate: Plate;
  /** printers that could run it and how long they take; default: the plate's own printer and figures */
  choices?: readonly Readonly<{ printerId: string; durationS: Figure; massG: Figure }>[];
  /** default 1; weighs lateness, and what gets into the window when not all does */
  importance?: number;
  due?: Instant;
  /** not to be started before */
  notBefore?: Instant;
  /** grams by material, for a plate of several; default all of its mass in its first material */
  needG?: Readonly<Record<string, number>>;
}>;

/** What a printer is like at the start of the plan. A spool tells its material. */
export type PrinterNow = Readonly<{ materialId?: string; spoolId?: string; onPlate?: boolean }>;

export type ScheduleInput = Readonly<{
  plates: readonly PlateToRun[];
  printers: readonly Printer[];
  materials: readonly Material[];
  hours: Hours;
  from: Instant;
  /** a run that would not end by then waits */
  to?: Instant;
  deadline?: Instant;
  printersNow?: Readonly<Record<string, PrinterNow>>;
  /** runs that are under way: they stay as they are, and are unloaded */
  running?: readonly Run[];
  /** the shelf; absent: spools are not looked at. What running runs still draw is taken off. */
  spools?: readonly Spool[];
  /** grams of a spool that cannot be used, default KEEP_BACK_G */
  keepBackG?: number;
  /** grams for purge and prime of each run, default PURGE_G */
  purgeG?: number;
  /** 1 (default): one person in one place; Infinity: enough hands for all printers */
  persons?: 1 | typeof Infinity;
  /** default 300 */
  rounds?: number;
  /** default 1 */
  seed?: number;
  /** asked between rounds: true stops early, and the search is marked */
  stop?: () => boolean;
}>;

export type Waiting = Readonly<{ plateId: string; copyIds: readonly string[]; reason: string }>;

export type Schedule = Readonly<{
  /** in order of start; running ones first */
  runs: readonly Run[];
  waiting: readonly Waiting[];
  todo: readonly Todo[];
  presence: readonly PresenceSpan[];
  /** end of the last planned run; absent when nothing runs */
  finish?: Instant;
  /** runs that end after their due moment or the deadline */
  late: readonly Readonly<{ runId: string; plateId: string; byS: number }>[];
  /** times the person gets up for it, and spools or materials put on */
  visits: number;
  changes: number;
  /** value and bound: seconds from the start of the plan to the end of the last run; no bound when a long queue leaves plates out of its window */
  search: Search;
  /** with a window: importance × hours of what it leaves out although a spool and a printer would do, and the least that must be */
  windowSearch?: Search;
  cautions: readonly string[];
}>;

/** Middle of the 1–5 g that purge and prime take (common practice, no source). */
export const PURGE_G = 3;
