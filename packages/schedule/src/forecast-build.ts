import type { Figure, Hours, Instant } from '@stonehand/model';
import { type FinishingChain, finishSteps } from './finish-steps.ts';
import { hoursWithin } from './hours-within.ts';
import { toEpochS } from './moment.ts';
import { onTimeChance } from './on-time-chance.ts';
import { scheduleRuns } from './schedule-runs.ts';
import type { ScheduleInput } from './schedule-types.ts';

export type ForecastInput = Readonly<{
  /** as for the window; its end, its shelf and what it keeps do not count here */
  schedule: ScheduleInput;
  chains?: readonly FinishingChain[];
  /** 'likeThisWindow': printing only in the window's days and times, week after week */
  printing: 'asStated' | 'likeThisWindow';
  /** windows from then on begin at this weekday and time instead */
  windowFrom?: Instant;
  /** default 600 */
  samples?: number;
  /** default 12 */
  rounds?: number;
}>;

export type Forecast = Readonly<{
  printing: 'asStated' | 'likeThisWindow';
  runs: number;
  /** plates that no hours of this kind ever let run */
  never: readonly string[];
  /** end of the last run as planned, and where simulation puts it */
  finish?: Instant;
  at50?: Instant;
  at80?: Instant;
  at95?: Instant;
  /** end of finishing, with the runs as planned */
  built?: Instant;
  /** that everything, finishing included, is done by the deadline */
  chance?: number;
  /** windows from this one on until the last run starts */
  windows?: number;
}>;

const WEEK_S = 7 * 86_400;
const SAMPLES = 600;
const ROUNDS = 12;
const EXACT_JOBS = 8;

/**
 * The whole remaining build on the stated hours, or in windows like this one: a plan without an end and with filament for all of it
 * (what is missing is bought in time), then simulated. Finishing is added to every run that brings a part's last piece, as long as
 * it takes after its planned end; it is done whenever the person is there.
 */
export function forecastBuild(input: ForecastInput): Forecast {
  const { schedule, chains = [], printing, samples = SAMPLES, rounds = ROUNDS } = input;
  const { to, keep: _, spools: __, deadline, ...rest } = schedule;
  const hours: Hours =
    printing === 'asStated' || to === undefined
      ? schedule.hours
      : hoursWithin(schedule.hours, input.windowFrom ?? schedule.from, to);
  const all = scheduleRuns({
    ...rest,
    ...(deadline === undefined ? {} : { deadline }),
    hours,
    rounds,
    exactJobs: EXACT_JOBS,
  });
  const never = all.waiting.map(({ plateId }) => plateId);
  const { runs, finish } = all;
  const base = { printing, runs: runs.length, never };
  if (finish === undefined) return base;
  // Glue and paint need no printer: they take place whenever the person is there.
  const { built, tailS } = finishSteps({ chains, runs, hours: schedule.hours, from: schedule.from });
  const durationS: Record<string, Figure> = {};
  for (const { plate, choices } of schedule.plates) {
    const run = runs.find(({ plateId }) => plateId === plate.id);
    durationS[plate.id] = choices?.find(({ printerId }) => printerId === run?.printerId)?.durationS ?? plate.durationS;
  }
  const sure = onTimeChance({
    runs,
    durationS,
    printers: schedule.printers,
    hours,
    from: schedule.from,
    samples,
    ...(schedule.seed === undefined ? {} : { seed: schedule.seed }),
    tailS,
    ...(deadline === undefined ? {} : { deadline }),
  });
  const last = Math.max(...runs.map((run) => toEpochS(run.start)));
  return {
    ...base,
    finish,
    ...sure.finish,
    ...(built === undefined ? {} : { built }),
    // What never runs is never done.
    ...(sure.chance === undefined ? {} : { chance: never.length > 0 ? 0 : sure.chance }),
    ...(printing === 'asStated' ? {} : { windows: 1 + Math.floor((last - toEpochS(schedule.from)) / WEEK_S) }),
  };
}
