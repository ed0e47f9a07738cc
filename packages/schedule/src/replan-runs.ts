import { formatDuration } from '@stonehand/base';
import type { Instant, Run } from '@stonehand/model';
import { toEpochS } from './moment.ts';
import { movedWhy } from './moved-why.ts';
import { scheduleRuns } from './schedule-runs.ts';
import type { KeptRun, Schedule, ScheduleInput } from './schedule-types.ts';
import { clockText } from './words.ts';

/** A run of the earlier plan that is not where it was. `now` is absent when it waits. */
export type MovedRun = Readonly<{
  runId: string;
  plateId: string;
  was: Readonly<{ start: Instant; printerId: string }>;
  now?: Readonly<{ start: Instant; printerId: string }>;
  why: string;
}>;

export type ReplanOptions = Readonly<{
  /** planned runs of the earlier plan whose plates are still to be printed */
  earlier: readonly KeptRun[];
  /** runs that begin so soon move only when they must; default 12 h */
  holdS?: number;
}>;

const HOLD_S = 12 * 3600;
/** For less than this, what is planned is not planned anew (common sense, no source). */
const WORTH_MOVING_S = 1800;
const SAME_S = 60;

/**
 * Plans on from an earlier plan. First every run of it stays where it is, moves only when it must, and what is new comes after.
 * Then those of the next hours are held alone: that plan is taken only when it gets more into the window, less late, or ends
 * half an hour earlier. Every run that moved says why.
 */
export function replanRuns(
  input: ScheduleInput,
  { earlier, holdS = HOLD_S }: ReplanOptions,
): Schedule & { readonly moved: readonly MovedRun[] } {
  const known = new Set(input.plates.map(({ plate }) => plate.id));
  const before = earlier.filter((run) => known.has(run.plateId));
  if (before.length === 0) return { ...scheduleRuns(input), moved: [] };
  const untilS = toEpochS(input.from) + holdS;
  const still = scheduleRuns({ ...input, keep: before });
  const firm = before.filter((run) => toEpochS(run.start) < untilS);
  const freer = firm.length < before.length ? scheduleRuns({ ...input, keep: firm, ...namesOf(before, firm) }) : still;
  const gain = gainOf(still, freer, input);
  const chosen = gain === undefined ? still : freer;
  const forced = new Map(movedRuns(before, still, input).map((moved) => [moved.runId, moved.why]));
  const moved = movedRuns(before, chosen, input).map((run) => ({
    ...run,
    why: gain === undefined || forced.has(run.runId) ? (forced.get(run.runId) ?? run.why) : gain,
  }));
  return { ...chosen, moved };
}

/** Runs that are free to move keep their names. */
function namesOf(before: readonly KeptRun[], firm: readonly KeptRun[]): Pick<ScheduleInput, 'runIds'> {
  return { runIds: Object.fromEntries(before.filter((run) => !firm.includes(run)).map((r) => [r.plateId, r.runId])) };
}

function gainOf(still: Schedule, freer: Schedule, input: ScheduleInput): string | undefined {
  const left = (schedule: Schedule): number => schedule.windowSearch?.value ?? 0;
  const lateS = (schedule: Schedule): number => schedule.late.reduce((sum, { byS }) => sum + byS, 0);
  const running = new Set(still.runs.map((run) => run.plateId));
  if (left(freer) < left(still) - 1e-9) {
    const more = freer.runs.filter((run) => run.state === 'planned' && !running.has(run.plateId));
    const name = input.plates.find(({ plate }) => plate.id === more[0]?.plateId)?.plate.name;
    return name === undefined ? 'so that more gets done in this window' : `so that ${name} gets into this window too`;
  }
  if (left(freer) > left(still) + 1e-9) return undefined;
  const earlierS = lateS(still) - lateS(freer);
  if (earlierS >= WORTH_MOVING_S) return `so that less is late, ${formatDuration(earlierS)} all told`;
  if (earlierS < 0 || still.finish === undefined || freer.finish === undefined) return undefined;
  const soonerS = toEpochS(still.finish) - toEpochS(freer.finish);
  return soonerS >= WORTH_MOVING_S ? `so that the last run ends ${formatDuration(soonerS)} earlier` : undefined;
}

function movedRuns(before: readonly KeptRun[], after: Schedule, input: ScheduleInput): MovedRun[] {
  return before.flatMap((run): MovedRun[] => {
    const now = after.runs.find((candidate) => candidate.id === run.runId);
    return now !== undefined && isWhereItWas(run, now) ? [] : [movedRun(run, now, after, input)];
  });
}

function isWhereItWas(run: KeptRun, now: Run): boolean {
  return run.printerId === now.printerId && Math.abs(toEpochS(run.start) - toEpochS(now.start)) < SAME_S;
}

function movedRun(run: KeptRun, now: Run | undefined, after: Schedule, input: ScheduleInput): MovedRun {
  const { runId, plateId, printerId, start } = run;
  const fromS = toEpochS(input.from);
  const moved = { runId, plateId, was: { start, printerId } };
  if (toEpochS(start) < fromS) {
    const at = clockText(toEpochS(start), fromS, input.hours.timeZone);
    const why = `it was to start ${at} and nothing is recorded of it, so it is taken as not started`;
    return { ...moved, ...(now === undefined ? {} : { now: { start: now.start, printerId: now.printerId } }), why };
  }
  if (now === undefined) {
    const reason = after.waiting.find((one) => one.plateId === plateId)?.reason ?? 'it fits nowhere';
    return { ...moved, why: `it waits now: ${reason}` };
  }
  return { ...moved, now: { start: now.start, printerId: now.printerId }, why: movedWhy(run, now, after, input) };
}
