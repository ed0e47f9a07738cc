import { StonehandError } from '@stonehand/base';
import type { Printer, Spool } from '@stonehand/model';
import { assignSpools, KEEP_BACK_G } from './assign-spools.ts';
import { type BuiltJob, builtJob, checkTwice, durationOn, possible, tooLong } from './built-job.ts';
import { closedSpans } from './closed-spans.ts';
import { keptByPlate, layKept } from './kept-runs.ts';
import { toEpochS } from './moment.ts';
import { firstPresentS, pauseSeconds } from './pauses.ts';
import { type PresenceSpan, presenceSpans } from './presence.ts';
import type { Queue, QueueJob, QueueMachine, QueueStock } from './queue.ts';
import type { ScheduleInput } from './schedule-types.ts';
import { noRoomWords, withoutSpoolReason } from './waiting-reasons.ts';

const DAY_S = 86_400;
/** Blocks that are a quarter of an hour apart are one time of getting up (common practice, no source). */
const VISIT_GAP_S = 900;
/** Putting something in while the printer waits (common practice, no source). */
export const PAUSE_WORK_S = 300;
/** After the window the last plates still have to be unloaded. */
const AFTER_WINDOW_S = 28 * DAY_S;
/** Nobody plans further than this, and hours are worked out day by day. */
const LONGEST_HORIZON_S = 730 * DAY_S;

export type BuiltQueue = Readonly<{
  queue: Queue;
  jobs: readonly BuiltJob[];
  stockOf: Int32Array;
  presence: readonly PresenceSpan[];
  startS: number;
  /** plates that cannot get into any queue, with why */
  waiting: ReadonlyMap<string, string>;
  /** of those, the ones that no spool is left for */
  withoutSpool: readonly string[];
  /** and those that were set aside */
  aside: ReadonlySet<string>;
  spoolsProven: boolean;
}>;

/**
 * Model objects → plain numbers: whole seconds from the start of the plan, indices instead of names. Plates that are set aside
 * wait, so that the others may have their filament.
 */
export function buildQueue(input: ScheduleInput, setAside: ReadonlySet<string> = new Set()): BuiltQueue {
  const { printers, hours, from } = input;
  const startS = toEpochS(from);
  const jobs = input.plates.map((toRun) => builtJob(toRun, input, startS));
  checkTwice(jobs);
  const until = input.to === undefined ? Infinity : toEpochS(input.to) - startS;
  if (until <= 0)
    throw new StonehandError(
      'TIME_INVALID',
      `the window ends before it begins: ${from} to ${input.to}`,
      'Swap the two moments.',
    );
  const presence = presenceSpans(hours, from, new Date(1000 * (startS + horizonS(jobs, until))).toISOString());
  const present = presence
    .filter((span) => span.kind === 'present')
    .map((span) => [span.fromS - startS, span.toS - startS] as const);
  const waiting = new Map<string, string>();
  const withoutSpool: string[] = [];
  for (const job of jobs) {
    if (job.durationS.every((figure) => figure === undefined)) waiting.set(job.plate.id, 'no printer here can run it');
    else if (possible(job, printers).length === 0) waiting.set(job.plate.id, tooLong(job, printers));
    else if (setAside.has(job.plate.id)) waiting.set(job.plate.id, noRoomWords(startS + until, startS, hours.timeZone));
  }
  const spools = input.spools === undefined ? undefined : shelfNow(input.spools, input);
  const keptOf = keptByPlate(input, jobs, startS);
  const assignment =
    spools === undefined
      ? undefined
      : supply(
          jobs.filter((job) => !waiting.has(job.plate.id)),
          spools,
          input,
          keptOf,
        );
  for (const job of jobs) {
    const missing = assignment?.without.find((id) => id.startsWith(`${job.plate.id}\n`));
    if (missing !== undefined) {
      withoutSpool.push(job.plate.id);
      waiting.set(job.plate.id, withoutSpoolReason(job, missing.split('\n')[1]!, spools!, input));
    }
  }
  const afterOf = new Map(input.plates.map(({ plate, after = [] }) => [plate.id, after]));
  waitForTests(jobs, afterOf, waiting);
  const kept = jobs.filter((job) => !waiting.has(job.plate.id));
  const families = [...new Set(kept.map((job) => job.materialIds.join('\n')))].sort();
  const kinds = [...new Set(kept.flatMap((job) => job.materialIds))].sort();
  const stocks: QueueStock[] = (spools ?? []).map((spool) => ({
    id: spool.id,
    kind: kinds.indexOf(spool.materialId),
    amount: roomG(spool, input),
    ...freeFrom(spool, input, presence),
  }));
  const releases = new Map(
    input.plates.map(({ plate, notBefore }) => [
      plate.id,
      notBefore === undefined ? 0 : Math.max(0, toEpochS(notBefore) - startS),
    ]),
  );
  const queueJobs: QueueJob[] = kept.map((job) => ({
    id: job.plate.id,
    family: families.indexOf(job.materialIds.join('\n')),
    durations: printers.map((printer, k) =>
      (keptOf.get(job.plate.id)?.printerId ?? printer.id) === printer.id ? durationOn(job, printer, k) : Infinity,
    ),
    release: releases.get(job.plate.id)!,
    due: job.dueS,
    weight: job.importance,
    ...afterThese(afterOf.get(job.plate.id) ?? [], kept),
    ...pauseSeconds(job, printers),
    worth: (job.importance * Math.min(...printers.map((printer, k) => durationOn(job, printer, k)))) / 3600,
    ...(keptOf.has(job.plate.id) ? { keptStart: keptOf.get(job.plate.id)!.startS } : {}),
    draws:
      spools === undefined ? [] : job.materialIds.map((id) => ({ kind: kinds.indexOf(id), amount: job.drawG[id]! })),
  }));
  const loadedMaterials = printers.map((printer) => loadedOn(printer, input));
  // One more family for what else may be loaded, so that the first run pays for its change.
  const rows = [...families.map((key) => key.split('\n')), ...loadedMaterials];
  const change = printers.map((printer) =>
    rows.map((before) =>
      families.map((key) => printer.changeS * key.split('\n').filter((id) => !before.includes(id)).length),
    ),
  );
  const machines = printers.map((printer, k) =>
    machineOf(printer, input, { startS, loaded: families.length + k, stocks, presence }),
  );
  const names = stocks.map((stock) => stock.id);
  const stockOf = Int32Array.from(
    queueJobs.flatMap((job, j) =>
      job.draws.map((_, d) => names.indexOf(assignment?.spoolOf[`${job.id}\n${kept[j]!.materialIds[d]!}`] ?? '')),
    ),
  );
  return {
    queue: {
      machines,
      jobs: queueJobs,
      change: change.map((matrix) => matrix.map((row) => [...row, ...printers.map(() => 0)])),
      startWork: hours.startWorkS,
      unload: hours.unloadWorkS,
      watch: hours.watchS,
      present,
      persons: (input.persons ?? 1) === 1 ? 'one' : 'enough',
      until,
      measure: 'tardiness',
      visitGap: VISIT_GAP_S,
      stocks,
      taken: [],
      pauseWork: PAUSE_WORK_S,
    },
    jobs: kept,
    stockOf,
    presence,
    startS,
    waiting,
    withoutSpool,
    aside: setAside,
    spoolsProven: assignment?.proven ?? true,
  };
}

/** What must come after a plate that waits, waits as well. */
function waitForTests(
  jobs: readonly BuiltJob[],
  afterOf: ReadonlyMap<string, readonly string[]>,
  waiting: Map<string, string>,
): void {
  for (let more = true; more; ) {
    more = false;
    for (const { plate } of jobs) {
      const before = afterOf.get(plate.id)!.find((id) => waiting.has(id));
      if (before === undefined || waiting.has(plate.id)) continue;
      const name = jobs.find((job) => job.plate.id === before)!.plate.name;
      waiting.set(plate.id, `waits for the test piece on ${name}, which waits itself`);
      more = true;
    }
  }
}

function afterThese(ids: readonly string[], kept: readonly BuiltJob[]): { after?: readonly number[] } {
  const after = kept.flatMap((job, j) => (ids.includes(job.plate.id) ? [j] : []));
  return after.length === 0 ? {} : { after };
}

function horizonS(jobs: readonly BuiltJob[], until: number): number {
  if (until < Infinity) return until + AFTER_WINDOW_S;
  let total = 0;
  for (const job of jobs) total += Math.max(0, ...job.durationS.map((figure) => figure?.value ?? 0));
  // Four times the work in a row, and a month: enough for any hours that leave time to start once a day.
  return Math.min(LONGEST_HORIZON_S, 4 * total + AFTER_WINDOW_S + jobs.length * DAY_S);
}

/** A spool that is known to be damp is free once it has been dried, begun when the person is first there. */
function freeFrom(spool: Spool, input: ScheduleInput, presence: readonly PresenceSpan[]): { freeFrom?: number } {
  const dryS = input.materials.find(({ id }) => id === spool.materialId)?.dryS ?? 0;
  return spool.dry === false && dryS > 0 ? { freeFrom: firstPresentS(presence) + dryS } : {};
}

function roomG(spool: Spool, { keepBackG = KEEP_BACK_G }: ScheduleInput): number {
  return Math.max(0, spool.lowG - keepBackG);
}

/** What the runs under way draw is as good as gone. */
function shelfNow(spools: readonly Spool[], { running = [] }: ScheduleInput): Spool[] {
  return spools.map((spool) => {
    let drawn = 0;
    for (const run of running) for (const draw of run.spools) if (draw.spoolId === spool.id) drawn += draw.massG;
    return { ...spool, netG: spool.netG - drawn, lowG: spool.lowG - drawn, highG: spool.highG - drawn };
  });
}

function supply(
  jobs: readonly BuiltJob[],
  spools: readonly Spool[],
  input: ScheduleInput,
  keptOf: ReturnType<typeof keptByPlate>,
): ReturnType<typeof assignSpools> {
  const keepBackG = input.keepBackG ?? KEEP_BACK_G;
  const laid = layKept(jobs, spools, keepBackG, keptOf);
  const needs = jobs.flatMap((job) =>
    job.materialIds
      .map((materialId) => ({
        id: `${job.plate.id}\n${materialId}`,
        materialId,
        massG: job.drawG[materialId]!,
        // A kept run goes without filament last of all.
        worth: (keptOf.has(job.plate.id) ? KEPT_WORTH : 1) * job.importance * job.drawG[materialId]!,
      }))
      .filter((need) => laid.spoolOf[need.id] === undefined),
  );
  const rest = assignSpools({ needs, spools: laid.spools, keepBackG, seed: input.seed ?? 1 });
  return { ...rest, spoolOf: { ...rest.spoolOf, ...laid.spoolOf } };
}

const KEPT_WORTH = 1000;

function loadedOn(printer: Printer, input: ScheduleInput): string[] {
  const running = runningOn(printer, input);
  const spoolIds = running?.spools.map((draw) => draw.spoolId) ?? [input.printersNow?.[printer.id]?.spoolId];
  const bySpool = spoolIds.flatMap((id) => input.spools?.find((spool) => spool.id === id)?.materialId ?? []);
  if (bySpool.length > 0) return bySpool;
  const materialId = input.printersNow?.[printer.id]?.materialId;
  return materialId === undefined ? [] : [materialId];
}

function runningOn(
  printer: Printer,
  { running = [] }: ScheduleInput,
): NonNullable<ScheduleInput['running']>[number] | undefined {
  return running.filter((run) => run.printerId === printer.id && run.state === 'running').at(-1);
}

function machineOf(
  printer: Printer,
  input: ScheduleInput,
  {
    startS,
    loaded,
    stocks,
    presence,
  }: Readonly<{ startS: number; loaded: number; stocks: readonly QueueStock[]; presence: readonly PresenceSpan[] }>,
): QueueMachine {
  const running = runningOn(printer, input);
  const now = input.printersNow?.[printer.id];
  const spoolIds = running?.spools.map((draw) => draw.spoolId) ?? [now?.spoolId];
  return {
    id: printer.id,
    availableFrom:
      running === undefined ? 0 : Math.max(0, Math.ceil(toEpochS(running.end) - startS + printer.coolDownS)),
    loaded,
    stocks: stocks.flatMap((stock, s) => (spoolIds.includes(stock.id) ? [s] : [])),
    stockChange: printer.changeS,
    unloadFirst: running !== undefined || now?.onPlate === true,
    unattended: printer.unattended,
    coolDown: printer.coolDownS,
    down: closedSpans(printer, input.hours, input.from, presence),
  };
}
