import { hashValue } from '@stonehand/base';
import type { PresenceKind, Run, Search } from '@stonehand/model';
import { type BuiltQueue, buildQueue } from './build-queue.ts';
import { createCalendar, createTaken, earliestBlock, type Taken, take } from './earliest-block.ts';
import { toEpochS, toInstant } from './moment.ts';
import { drawStarts, type Queue } from './queue.ts';
import { PURGE_G, type Schedule, type ScheduleInput, type Waiting } from './schedule-types.ts';
import { type QueueAnswer, solveQueue } from './solve-queue.ts';
import { todoList } from './todo-list.ts';
import { noRoomReason } from './waiting-reasons.ts';

const UNATTENDED_CAUTION =
  'Unattended runs: do not run where nobody can respond; working smoke alarm, clear surroundings, thermal-runaway protection. ' +
  "The local fire code, landlord or insurer and the printer's manual come first.";

/**
 * Which run starts when on which printer, when the person must be there, from which spool, and what waits and why.
 * Every plate comes out exactly once, as a run or waiting. In this order: the least worth (importance × hours) left out of the
 * window, the least lateness weighted by importance, the earliest finish, the fewest times of getting up, the fewest changes.
 * Durations count warm-up; the plan is made with the figures' values, their intervals are for onTimeChance.
 * @throws StonehandError DATA_UNKNOWN, DATA_DUPLICATE, TIME_INVALID for input that contradicts itself
 */
export function scheduleRuns(input: ScheduleInput): Schedule {
  const { rounds = 300, seed = 1, exactJobs, stop } = input;
  const { built, answer } = solveWithShelf(input, (queue, stockOf, trial) =>
    solveQueue(queue, {
      rounds: trial ? Math.min(rounds, TRIAL_ROUNDS) : rounds,
      seed,
      stockOf,
      ...(trial ? { exactJobs: TRIAL_EXACT_JOBS } : exactJobs === undefined ? {} : { exactJobs }),
      ...(stop === undefined ? {} : { stop }),
    }),
  );
  const planned = plannedRuns(built, answer, input);
  const runs = [...planned.running, ...planned.runs];
  const { score, bound } = answer;
  return {
    runs,
    waiting: waitingPlates(built, answer, input),
    todo: todoList({ runs, built, answer, input }),
    presence: built.presence,
    ...(planned.runs.length === 0 ? {} : { finish: toInstant(built.startS + score[2]!, input.hours.timeZone) }),
    late: lateRuns(built, planned.runs),
    visits: score[3]!,
    changes: score[4]!,
    search: {
      what: 'end of the last run, seconds from the start of the plan',
      value: score[2]!,
      ...(bound.finish === undefined ? {} : { bound: bound.finish }),
      rounds: answer.rounds,
      seed,
      ended: answer.ended === 'proven' && !built.spoolsProven ? 'rounds' : answer.ended,
    },
    ...(input.to === undefined ? {} : { windowSearch: windowSearch(answer, seed) }),
    cautions: runs.some((run) => run.unattended) ? [UNATTENDED_CAUTION] : [],
  };
}

const MOST_SHARINGS = 4;
/** Who gets filament is tried with short searches; the last one counts. */
const TRIAL_ROUNDS = 12;
const TRIAL_EXACT_JOBS = 8;

/**
 * Which plates get filament is settled before the times are known. When the window then has no room for some of them, they are set
 * aside, and what they would have drawn goes to plates that had none, as long as that gets more into the window.
 */
function solveWithShelf(
  input: ScheduleInput,
  solve: (queue: Queue, stockOf: Int32Array, trial: boolean) => QueueAnswer,
): { built: BuiltQueue; answer: QueueAnswer } {
  let built = buildQueue(input);
  if (built.withoutSpool.length === 0) return { built, answer: solve(built.queue, built.stockOf, false) };
  let answer = solve(built.queue, built.stockOf, true);
  const aside = new Set<string>();
  for (let sharing = 0; sharing < MOST_SHARINGS && built.withoutSpool.length > 0; sharing++) {
    const before = aside.size;
    built.jobs.forEach((job, j) => {
      if (answer.timing.end[j] === Infinity) aside.add(job.plate.id);
    });
    if (aside.size === before) break;
    const nextBuilt = buildQueue(input, aside);
    const next = solve(nextBuilt.queue, nextBuilt.stockOf, true);
    if (doneWorth(nextBuilt, next) <= doneWorth(built, answer)) break;
    built = nextBuilt;
    answer = next;
  }
  return { built, answer: solve(built.queue, built.stockOf, false) };
}

function doneWorth({ queue }: BuiltQueue, { timing }: QueueAnswer): number {
  return queue.jobs.reduce((sum, job, j) => sum + (timing.end[j]! < Infinity ? job.worth : 0), 0);
}

function runIdOf(plateId: string, { keep = [], runIds = {}, endedRunIds = [] }: ScheduleInput): string {
  const kept = keep.find((run) => run.plateId === plateId);
  const known = kept?.runId ?? runIds[plateId];
  if (known !== undefined) return known;
  // A plate that is printed again after a failure is another run.
  for (let nth = 0; ; nth++) {
    const id = `run-${hashValue([plateId, nth]).slice(0, 10)}`;
    if (!endedRunIds.includes(id)) return id;
  }
}

function windowSearch({ score, bound, rounds }: QueueAnswer, seed: number): Search {
  const ended = score[0]! <= bound.leftBehind + 1e-9 ? 'proven' : 'rounds';
  return {
    what: 'importance × hours left out of the window',
    value: score[0]!,
    bound: bound.leftBehind,
    rounds,
    seed,
    ended,
  };
}

function plannedRuns(built: BuiltQueue, answer: QueueAnswer, input: ScheduleInput): { running: Run[]; runs: Run[] } {
  const { queue, jobs, startS } = built;
  const { timing, choice } = answer;
  const at = (s: number): string => toInstant(startS + s, input.hours.timeZone);
  const order = jobs.map((_, j) => j).filter((j) => timing.end[j]! < Infinity);
  order.sort((a, b) => timing.start[a]! - timing.start[b]! || a - b);
  const taken = createTaken(timing.taken.count + 2 * jobs.length + 2 * queue.machines.length + 2);
  for (let i = 0; i < timing.taken.count; i++) take(taken, timing.taken.from[i]!, timing.taken.to[i]!);
  // What the next block on the printer does not unload is unloaded at the first free moment.
  const unloadOf = new Map<number, number>();
  const running = (input.running ?? []).filter((run) => run.state === 'running');
  const firstOn = queue.machines.map((_, k) => order.find((j) => choice.machineOf[j] === k));
  const loose: { k: number; end: number; job: number }[] = [];
  queue.machines.forEach((machine, k) => {
    const mine = order.filter((j) => choice.machineOf[j] === k);
    mine.forEach((j, i) => {
      const next = mine[i + 1];
      if (next !== undefined) unloadOf.set(j, timing.blockFrom[next]!);
      else loose.push({ k, end: timing.end[j]! + machine.coolDown, job: j });
    });
    if (mine.length === 0 && machine.unloadFirst) loose.push({ k, end: machine.availableFrom, job: -1 - k });
  });
  loose.sort((a, b) => a.end - b.end || a.k - b.k);
  for (const { k, end, job } of loose) unloadOf.set(job, looseUnload(built, k, end, taken));
  const draws = drawStarts(queue);
  const runs = order.map((j): Run => {
    const job = jobs[j]!;
    const k = choice.machineOf[j]!;
    const unload = unloadOf.get(j)!;
    const before = order.filter((i) => choice.machineOf[i] === k && timing.start[i]! < timing.start[j]!);
    const unloadsFirst = before.length > 0 || queue.machines[k]!.unloadFirst;
    const attendFromS = timing.blockFrom[j]! + (unloadsFirst ? queue.unload : 0);
    const alone = aloneKinds(built, timing.start[j]!, timing.end[j]!);
    const stretch = queue.present.some(([a, b]) => a <= attendFromS && timing.end[j]! <= b);
    const massG = job.massG[k]!;
    return {
      // Not of its start: a renewed plan moves a run, and what names it (calendars, the ledger) goes with it.
      id: runIdOf(job.plate.id, input),
      plateId: job.plate.id,
      printerId: queue.machines[k]!.id,
      attendFrom: at(attendFromS),
      start: at(timing.start[j]!),
      watchedUntil: at(timing.watchedUntil[j]!),
      end: at(timing.end[j]!),
      unloadFrom: at(unload),
      unloadEnd: at(unload + queue.unload),
      unattended: !stretch,
      ...(alone.length === 0 ? {} : { alone }),
      state: 'planned',
      spools:
        queue.stocks.length === 0
          ? []
          : job.materialIds.map((materialId, d) => ({
              spoolId: queue.stocks[choice.stockOf[draws[j]! + d]!]!.id,
              massG: expectedG(job.drawG[materialId]!, massG.value, massG.high, job.materialIds.length, input),
            })),
    };
  });
  const kept = running.map((run): Run => {
    const k = queue.machines.findIndex((machine) => machine.id === run.printerId);
    const first = firstOn[k];
    const unload = first === undefined ? unloadOf.get(-1 - k)! : timing.blockFrom[first]!;
    return { ...run, unloadFrom: at(unload), unloadEnd: at(unload + queue.unload) };
  });
  return { running: kept, runs };
}

/** Middle grams and purge; for a plate of several materials what is stated of each. */
function expectedG(
  drawG: number,
  valueG: number,
  highG: number | undefined,
  materials: number,
  { purgeG = PURGE_G }: ScheduleInput,
): number {
  return materials === 1 && highG !== undefined ? Math.min(drawG, valueG + purgeG) : drawG;
}

/** With nobody there within the horizon, unloading is put at its end and thus last of all. */
function looseUnload(built: BuiltQueue, k: number, ready: number, taken: Taken): number {
  const { queue } = built;
  const machine = { ...queue.machines[k]!, unattended: true, down: [] };
  const person = queue.persons === 'one' ? taken : undefined;
  const from = earliestBlock(createCalendar(queue.present), machine, person, Math.max(0, ready), queue.unload, 0, 0);
  const last = built.presence.at(-1)!.toS - built.startS;
  const at = from === Infinity ? Math.max(last, ready) : from;
  take(taken, at, at + queue.unload);
  return at;
}

function aloneKinds({ presence, startS }: BuiltQueue, from: number, to: number): ('asleep' | 'away')[] {
  const kinds = new Set<PresenceKind>();
  for (const span of presence) if (span.fromS - startS < to && span.toS - startS > from) kinds.add(span.kind);
  return (['asleep', 'away'] as const).filter((kind) => kinds.has(kind));
}

function waitingPlates(built: BuiltQueue, answer: QueueAnswer, input: ScheduleInput): Waiting[] {
  return input.plates.flatMap(({ plate }): Waiting[] => {
    const copyIds = plate.placed.map((placed) => placed.copyId);
    const before = built.waiting.get(plate.id);
    const cause = built.withoutSpool.includes(plate.id) ? 'filament' : 'printer';
    if (before !== undefined)
      return [{ plateId: plate.id, copyIds, cause: built.aside.has(plate.id) ? 'room' : cause, reason: before }];
    const j = built.jobs.findIndex((job) => job.plate.id === plate.id);
    if (answer.timing.end[j]! < Infinity) return [];
    return [{ plateId: plate.id, copyIds, cause: 'room', reason: noRoomReason(built, j, input) }];
  });
}

function lateRuns(built: BuiltQueue, runs: readonly Run[]): Schedule['late'] {
  return runs.flatMap((run) => {
    const job = built.jobs.find((candidate) => candidate.plate.id === run.plateId)!;
    const byS = toEpochS(run.end) - built.startS - job.dueS;
    return byS > 0 ? [{ runId: run.id, plateId: run.plateId, byS }] : [];
  });
}
