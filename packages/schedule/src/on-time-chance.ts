import { seededRandom } from '@stonehand/base';
import type { Figure, Hours, Instant, Printer, Run } from '@stonehand/model';
import { closedSpans } from './closed-spans.ts';
import { type Calendar, createCalendar, createTaken, earliestBlock, take } from './earliest-block.ts';
import { toEpochS, toInstant } from './moment.ts';
import { presenceSpans } from './presence.ts';
import type { QueueMachine } from './queue.ts';
import { COMMON_SHARE, mixedNormal, quantile, skewed } from './skewed.ts';

export type OnTimeInput = Readonly<{
  /** of a schedule: planned and running */
  runs: readonly Run[];
  /** duration by plate id; without one, the planned time is taken as certain */
  durationS: Readonly<Record<string, Figure>>;
  printers: readonly Printer[];
  hours: Hours;
  from: Instant;
  deadline?: Instant;
  persons?: 1 | typeof Infinity;
  /** default 2000 */
  samples?: number;
  seed?: number;
  /** share of the variance of times that all runs have in common, default COMMON_SHARE */
  commonShare?: number;
  /** what follows a run before its deadline is met (glue, paint, their waiting), seconds by run id; counts for the chance alone */
  tailS?: Readonly<Record<string, number>>;
}>;

export type OnTime = Readonly<{
  /** share of the samples in which all runs, with what follows them, end by the deadline; absent without one */
  chance?: number;
  /** of that share, from the number of samples alone */
  standardError?: number;
  /** absent where that many samples never end (a run that fits no presence any more) */
  finish: Readonly<{ at50?: Instant; at80?: Instant; at95?: Instant }>;
  /** failed runs per sample */
  failures: number;
  /** runs by what their failures cost the finish on average, the dearest first: chance of one or more × how much later it then ends */
  matters: readonly Readonly<{ runId: string; failChance: number; delayS: number; costS: number }>[];
  samples: number;
}>;

const DAY_S = 86_400;
const MOST_TRIES = 20;

/**
 * How sure the finish is, by simulation. In every sample each run's time is drawn from its interval (median at the value, skewed:
 * see `skewed`), partly shared by all runs; a start fails with the printer's failPerStart and is seen at the end of the watch;
 * later a run fails at the constant rate failPerHour, and that is found when the person is present; then the plate is unloaded
 * and printed again before the printer's next run. Runs keep their printer and their order there; who is served first
 * follows from who can be served first.
 */
export function onTimeChance(input: OnTimeInput): OnTime {
  const { samples = 2000, seed = 1, deadline, hours, from } = input;
  const simulate = createSimulation(input);
  const random = seededRandom(seed);
  const finishes = new Float64Array(samples);
  const startS = toEpochS(from);
  const limit = deadline === undefined ? Infinity : toEpochS(deadline) - startS;
  let inTime = 0;
  let failures = 0;
  const runs = input.runs.map(() => ({ count: 0, sumS: 0 }));
  let ended = 0;
  let sumS = 0;
  for (let s = 0; s < samples; s++) {
    const { finish, done, failed, failedRuns } = simulate(random);
    finishes[s] = finish;
    if (done <= limit) inTime++;
    failures += failed;
    if (finish === Infinity) continue;
    ended++;
    sumS += finish;
    for (const r of failedRuns) {
      runs[r]!.count++;
      runs[r]!.sumS += finish;
    }
  }
  finishes.sort();
  const matters = runs
    .map(({ count, sumS: failedS }, r) => {
      const delayS = count === 0 || count === ended ? 0 : failedS / count - (sumS - failedS) / (ended - count);
      const failChance = ended === 0 ? 0 : count / ended;
      return { runId: input.runs[r]!.id, failChance, delayS, costS: failChance * delayS };
    })
    .sort((a, b) => b.costS - a.costS || (a.runId < b.runId ? -1 : 1));
  const at = (q: number): Instant | undefined => {
    const s = quantile(finishes, q);
    return s < Infinity ? toInstant(startS + s, hours.timeZone) : undefined;
  };
  const finish: { at50?: Instant; at80?: Instant; at95?: Instant } = {};
  for (const [key, q] of [
    ['at50', 0.5],
    ['at80', 0.8],
    ['at95', 0.95],
  ] as const) {
    const moment = at(q);
    if (moment !== undefined) finish[key] = moment;
  }
  const base = { finish, failures: failures / samples, matters, samples };
  if (deadline === undefined) return base;
  const chance = inTime / samples;
  return { ...base, chance, standardError: Math.sqrt((chance * (1 - chance)) / samples) };
}

type Item = Readonly<{ index: number; run: Run; machine: number; pre: number; planned: number; figure: Figure }>;

type Sample = Readonly<{
  finish: number;
  /** with what follows the runs */
  done: number;
  failed: number;
  failedRuns: ReadonlySet<number>;
}>;

function createSimulation(input: OnTimeInput): (random: ReturnType<typeof seededRandom>) => Sample {
  const { printers, hours, from, commonShare = COMMON_SHARE } = input;
  const startS = toEpochS(from);
  const lastS = Math.max(startS, ...input.runs.map((run) => toEpochS(run.end)));
  const horizon = new Date(1000 * (lastS + 60 * DAY_S + 3 * (lastS - startS))).toISOString();
  const presence = presenceSpans(hours, from, horizon);
  const spans = presence.filter((span) => span.kind === 'present');
  const calendar = createCalendar(spans.map((span) => [span.fromS - startS, span.toS - startS] as const));
  const machines: QueueMachine[] = printers.map((printer) => ({
    id: printer.id,
    availableFrom: 0,
    loaded: -1,
    stocks: [],
    stockChange: 0,
    unloadFirst: false,
    unattended: printer.unattended,
    coolDown: printer.coolDownS,
    down: closedSpans(printer, hours, from, presence),
  }));
  const items: Item[] = input.runs
    .map((run, index) => ({ run, index }))
    .filter(({ run }) => run.state === 'planned' || run.state === 'running')
    .map(({ run, index }) => ({
      index,
      run,
      machine: printers.findIndex((printer) => printer.id === run.printerId),
      pre: toEpochS(run.start) - toEpochS(run.attendFrom),
      planned: toEpochS(run.attendFrom) - startS,
      figure: input.durationS[run.plateId] ?? { value: toEpochS(run.end) - toEpochS(run.start), from: 'the plan' },
    }))
    .filter((item) => item.machine >= 0)
    .sort((a, b) => a.planned - b.planned || a.machine - b.machine);
  const queues = machines.map((_, k) => items.filter((item) => item.machine === k));
  const single = (input.persons ?? 1) === 1;
  const taken = createTaken(MOST_TRIES * (items.length + 1) * 2);
  const ready = new Float64Array(machines.length);
  const next = new Int32Array(machines.length);
  const onPlate = new Uint8Array(machines.length);

  return (random) => {
    taken.count = 0;
    ready.fill(0);
    next.fill(0);
    onPlate.fill(0);
    const common = random.normal();
    let finish = 0;
    let done = 0;
    let failed = 0;
    const failedRuns = new Set<number>();
    let tries = 0;
    for (;;) {
      let machine = -1;
      let soonest = Infinity;
      let duration = 0;
      for (let k = 0; k < machines.length; k++) {
        const item = queues[k]![next[k]!];
        if (item === undefined) continue;
        const from = blockOf(item, k);
        const first = machine >= 0 && from === soonest && item.planned < queues[machine]![next[machine]!]!.planned;
        if (machine < 0 || from < soonest || first) {
          machine = k;
          soonest = from;
        }
      }
      if (machine < 0) return { finish, done, failed, failedRuns };
      if (soonest === Infinity) return { finish: Infinity, done: Infinity, failed, failedRuns };
      const item = queues[machine]![next[machine]!]!;
      const running = item.run.state === 'running' && onPlate[machine] === 0;
      const figure = item.figure;
      duration = Math.round(skewed(figure, mixedNormal(common, random.normal(), commonShare)));
      const startOfRun = running ? toEpochS(item.run.start) - startS : soonest + preOf(item, machine);
      const watched = running ? 0 : startOfRun + Math.min(hours.watchS, duration);
      if (!running && single) take(taken, soonest, watched);
      const printer = printers[machine]!;
      const failsAtStart = random.next() < printer.failPerStart && !running;
      const life = printer.failPerHour > 0 ? (-Math.log(1 - random.next()) / printer.failPerHour) * 3600 : Infinity;
      const bornAt = Math.max(0, startOfRun);
      const end = Math.max(startOfRun + duration, running ? 0 : startOfRun);
      onPlate[machine] = 1;
      tries++;
      const again = tries < MOST_TRIES * items.length;
      if (failsAtStart && again) {
        failed++;
        failedRuns.add(item.index);
        ready[machine] = watched + printer.coolDownS;
      } else if (bornAt + life < end && again) {
        failed++;
        failedRuns.add(item.index);
        ready[machine] = Math.max(found(calendar, bornAt + life), watched) + printer.coolDownS;
      } else {
        ready[machine] = end + printer.coolDownS;
        next[machine] = next[machine]! + 1;
        if (end > finish) finish = end;
        done = Math.max(done, end + (input.tailS?.[item.run.id] ?? 0));
      }
    }
  };

  function preOf(item: Item, k: number): number {
    return item.pre + (onPlate[k] === 1 ? hours.unloadWorkS : 0);
  }

  function blockOf(item: Item, k: number): number {
    if (item.run.state === 'running' && onPlate[k] === 0) return 0;
    const pre = preOf(item, k);
    // The person reckons with the planned time: a run that must be watched is started when the median fits.
    const watch = Math.min(hours.watchS, item.figure.value);
    return earliestBlock(calendar, machines[k]!, single ? taken : undefined, ready[k]!, pre, watch, item.figure.value);
  }
}

function found(calendar: Calendar, at: number): number {
  for (let k = 0; k < calendar.from.length; k++) {
    if (calendar.to[k]! > at) return Math.max(at, calendar.from[k]!);
  }
  return Infinity;
}
