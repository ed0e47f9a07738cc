import type { Buy, Figure, Instant, Plan, Spool } from '@stonehand/model';
import {
  type FilamentNeed,
  type FinishingChain,
  finishSteps,
  forecastBuild,
  type KeptRun,
  type MovedRun,
  onTimeChance,
  orderBy,
  replanRuns,
  type Schedule,
  type ScheduleInput,
  scheduleRuns,
  shoppingList,
} from '@stonehand/schedule';
import type { Task } from './engine.ts';

export type QueueInput = Readonly<{
  schedule: ScheduleInput;
  /** planned runs of the plan before */
  earlier: readonly KeptRun[];
  chains: readonly FinishingChain[];
  /** what printing each plate takes, by "plate printer" */
  needs: Readonly<Record<string, FilamentNeed>>;
  /** plates that are on a printer now */
  runningS: Readonly<Record<string, Figure>>;
}>;

export type QueueOutcome = Pick<Plan, 'outlook' | 'todo'> &
  Readonly<{
    schedule: Schedule & Readonly<{ moved: readonly MovedRun[] }>;
    buy: readonly Buy[];
    buyAll: readonly Buy[];
    onTimeChance?: number;
    finish?: Readonly<{ expected: Instant; at80?: Instant; at95?: Instant }>;
  }>;

/** Trials of what could be printed, not plans to go by. */
const SHORT = { rounds: 12, exactJobs: 8 };

/** Runs, finishing, how sure the finish is, when the whole build is done, and what must be bought for this window and for all that remains. */
export const queueTask: Task<QueueInput, QueueOutcome> = {
  name: 'queue',
  keyed: (input) => input,
  async run({ schedule: input, earlier, chains, needs, runningS }) {
    const schedule = replanRuns(input, { earlier });
    const { printers, hours, from, to, deadline, seed } = input;
    const needOf = (plateId: string, printerId?: string): FilamentNeed =>
      needs[`${plateId} ${printerId ?? input.plates.find(({ plate }) => plate.id === plateId)!.plate.printerId}`]!;
    const durationS: Record<string, Figure> = { ...runningS };
    for (const run of schedule.runs)
      if (run.state === 'planned') durationS[run.plateId] = durationOf(input, run.plateId, run.printerId);
    const sure = onTimeChance({
      runs: schedule.runs,
      durationS,
      printers,
      hours,
      from,
      ...(to === undefined ? {} : { deadline: to }),
      ...(seed === undefined ? {} : { seed }),
    });
    const forecasts = (to === undefined ? (['asStated'] as const) : (['likeThisWindow', 'asStated'] as const)).map(
      (printing) => forecastBuild({ schedule: input, chains, printing }),
    );
    const finished = finishSteps({ chains, runs: schedule.runs, hours, from, ...(to === undefined ? {} : { to }) });
    const [top] = sure.matters.filter(({ costS }) => costS > 0);
    const { at80, at95 } = sure.finish;
    const chance = forecasts.at(-1)!.chance;
    return {
      schedule,
      todo: [...schedule.todo, ...finished.todo].sort((a, b) => Date.parse(a.from) - Date.parse(b.from)),
      ...purchases(input, schedule, needOf),
      outlook: {
        ...(to === undefined || sure.chance === undefined ? {} : { windowChance: sure.chance }),
        failures: sure.failures,
        ...(top === undefined ? {} : { mattersMost: { ...top } }),
        forecasts,
      },
      ...(schedule.finish === undefined
        ? {}
        : {
            finish: {
              expected: schedule.finish,
              ...(at80 === undefined ? {} : { at80 }),
              ...(at95 === undefined ? {} : { at95 }),
            },
          }),
      ...(deadline === undefined || chance === undefined ? {} : { onTimeChance: chance }),
    };
  },
  keep: ({ schedule: { search } }) => search.ended === 'proven' || search.ended === 'rounds',
};

function durationOf({ plates }: ScheduleInput, plateId: string, printerId: string): Figure {
  const { plate, choices } = plates.find((one) => one.plate.id === plateId)!;
  return choices?.find((choice) => choice.printerId === printerId)?.durationS ?? plate.durationS;
}

/** This window: what could be printed in it if no filament were lacking. All: everything that is still to be printed. */
function purchases(
  input: ScheduleInput,
  planned: Schedule,
  needOf: (plateId: string, printerId?: string) => FilamentNeed,
): Pick<QueueOutcome, 'buy' | 'buyAll'> {
  const { spools = [], materials, seed } = input;
  const shop = { spools: lessRunning(spools, input), materials, ...(seed === undefined ? {} : { seed }) };
  const { spools: _, keep: __, ...endless } = input;
  const lacking = planned.waiting.length > 0 && input.spools !== undefined && input.to !== undefined;
  const most = lacking ? scheduleRuns({ ...endless, ...SHORT }) : planned;
  const { to: ___, ...open } = endless;
  const whole = scheduleRuns({ ...open, ...SHORT });
  const needsOf = (runs: Schedule['runs']): FilamentNeed[] =>
    runs.filter(({ state }) => state === 'planned').map((run) => needOf(run.plateId, run.printerId));
  const never = whole.waiting.map(({ plateId }) => needOf(plateId));
  const dated = (rows: readonly Buy[], runs: Schedule['runs']): Buy[] =>
    rows.map((row) => ({ ...row, ...orderBy(row, { runs, needOf, materials, from: input.from }) }));
  return {
    buy: dated(shoppingList({ needs: needsOf(most.runs), ...shop }), most.runs),
    buyAll: dated(shoppingList({ needs: [...needsOf(whole.runs), ...never], ...shop }), whole.runs),
  };
}

/** What is running draws from its spools still. */
function lessRunning(spools: readonly Spool[], { running = [] }: ScheduleInput): Spool[] {
  return spools.map((spool) => {
    let drawnG = 0;
    for (const run of running) for (const draw of run.spools) if (draw.spoolId === spool.id) drawnG += draw.massG;
    const less = (g: number): number => Math.max(0, g - drawnG);
    return drawnG === 0
      ? spool
      : { ...spool, netG: less(spool.netG), lowG: less(spool.lowG), highG: less(spool.highG) };
  });
}
