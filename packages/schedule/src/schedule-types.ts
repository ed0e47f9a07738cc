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
  /** plates that must have ended before: test pieces */
  after?: readonly string[];
  /** moments at which the printer waits for something to be put in, seconds from the start by printer id */
  pauses?: readonly Readonly<{ says: string; atS: Readonly<Record<string, number>> }>[];
}>;

/** A run of an earlier plan that stays where it is if it can: not earlier, on its printer, from its spools. */
export type KeptRun = Readonly<{
  runId: string;
  plateId: string;
  printerId: string;
  start: Instant;
  spoolIds: readonly string[];
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
  /** planned runs that stay where they are if they can, and come before all others on their printers */
  keep?: readonly KeptRun[];
  /** names of plates of running runs by run id, for the words of reasons */
  runningNames?: Readonly<Record<string, string>>;
  /** ids that runs had in an earlier plan, by plate */
  runIds?: Readonly<Record<string, string>>;
  /** ids of runs that are over, not to be given again */
  endedRunIds?: readonly string[];
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
  /** longest queue that the exact programme is tried on, default 16; a trial of many can do with less */
  exactJobs?: number;
  /** default 1 */
  seed?: number;
  /** asked between rounds: true stops early, and the search is marked */
  stop?: () => boolean;
}>;

export type Waiting = Readonly<{
  plateId: string;
  copyIds: readonly string[];
  /** what is lacking */
  cause?: 'room' | 'filament' | 'printer';
  reason: string;
}>;

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
