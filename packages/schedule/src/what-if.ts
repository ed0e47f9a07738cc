import type { Instant } from '@stonehand/model';
import { type Forecast, type ForecastInput, forecastBuild } from './forecast-build.ts';
import { toEpochS, toInstant } from './moment.ts';
import { scheduleRuns } from './schedule-runs.ts';
import type { ScheduleInput } from './schedule-types.ts';
import { clockText } from './words.ts';

export type WhatIfInput = Omit<ForecastInput, 'printing'>;

/** One change of the shop or the hours, and what comes of it. */
export type WhatIf = Readonly<{
  /** "as it is", "a second loft", "bench left alone" */
  what: string;
  /** plates that get into this window; absent where the change only counts for later ones */
  plates?: number;
  finish?: Instant;
  forecast: Forecast;
}>;

const DAY_S = 86_400;
/** Numbers of runs are compared, not minutes: a short search tells them apart. */
const ROUNDS = 20;
const EXACT_JOBS = 8;

/**
 * What a third evening, another printer or a printer that may run alone would change: each change by itself, planned and simulated
 * like the plan. The first row is the plan as it is.
 */
export function whatIf(input: WhatIfInput): WhatIf[] {
  const { schedule } = input;
  const printing = schedule.to === undefined ? ('asStated' as const) : ('likeThisWindow' as const);
  const rows = [rowOf('as it is', schedule, { ...input, printing })];
  if (schedule.to !== undefined) {
    const earlier = toInstant(toEpochS(schedule.from) - DAY_S, schedule.hours.timeZone);
    const day = clockText(toEpochS(earlier), toEpochS(schedule.from), schedule.hours.timeZone);
    const forecast = forecastBuild({ ...input, printing, windowFrom: earlier });
    rows.push({ what: `an evening more, from ${day}`, forecast });
  }
  for (const { id } of schedule.printers) {
    const second = withSecond(schedule, id);
    rows.push(rowOf(`a second ${id}`, second, { ...input, schedule: second, printing }));
  }
  for (const { id, unattended } of schedule.printers) {
    if (unattended) continue;
    const printers = schedule.printers.map((printer) =>
      printer.id === id ? { ...printer, unattended: true } : printer,
    );
    const alone = { ...schedule, printers };
    rows.push(rowOf(`${id} allowed to run alone`, alone, { ...input, schedule: alone, printing }));
  }
  return rows;
}

function rowOf(what: string, schedule: ScheduleInput, input: ForecastInput): WhatIf {
  const forecast = forecastBuild(input);
  if (schedule.to === undefined) return { what, forecast };
  const { runs, finish } = scheduleRuns({ ...schedule, rounds: ROUNDS, exactJobs: EXACT_JOBS });
  return { what, plates: runs.length, ...(finish === undefined ? {} : { finish }), forecast };
}

/** One more printer of the same kind, with nothing on it: whatever may run on the first may run on it. */
function withSecond(schedule: ScheduleInput, id: string): ScheduleInput {
  const printer = schedule.printers.find((one) => one.id === id)!;
  const twin = { ...printer, id: `second ${id}`, outOfService: [] };
  return {
    ...schedule,
    printers: [...schedule.printers, twin],
    plates: schedule.plates.map((toRun) => {
      const { plate } = toRun;
      const choices = toRun.choices ?? [{ printerId: plate.printerId, durationS: plate.durationS, massG: plate.massG }];
      const same = choices.filter((choice) => choice.printerId === id);
      return { ...toRun, choices: [...choices, ...same.map((choice) => ({ ...choice, printerId: twin.id }))] };
    }),
  };
}
