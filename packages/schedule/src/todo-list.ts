import { formatDuration, formatMass } from '@stonehand/base';
import type { Run, Todo } from '@stonehand/model';
import { type BuiltQueue, PAUSE_WORK_S } from './build-queue.ts';
import { toEpochS, toInstant } from './moment.ts';
import { firstPresentS } from './pauses.ts';
import type { ScheduleInput } from './schedule-types.ts';
import type { QueueAnswer } from './solve-queue.ts';
import { clockText } from './words.ts';

type TodoInput = Readonly<{ runs: readonly Run[]; built: BuiltQueue; answer: QueueAnswer; input: ScheduleInput }>;

/** What the person does, in order of time, in words; with the latest moment that changes nothing else in the plan. */
export function todoList(all: TodoInput): Todo[] {
  const { runs } = all;
  const list: Todo[] = [];
  const dried = new Set<string>();
  for (const run of runs) {
    const latest = latestOf(run, all);
    if (run.state === 'planned') {
      list.push(...changeAndStart(run, all, latest));
      for (const { spoolId } of run.spools) {
        if (dried.has(spoolId)) continue;
        dried.add(spoolId);
        list.push(...drying(run, spoolId, all));
      }
    }
    if (run.state === 'planned') list.push(...pausing(run, all));
    list.push(unloading(run, all));
  }
  const rank = { dry: 0, unload: 1, change: 2, start: 3, pause: 4, finish: 5 };
  return list.sort(
    (a, b) => toEpochS(a.from) - toEpochS(b.from) || rank[a.what] - rank[b.what] || (a.runId < b.runId ? -1 : 1),
  );
}

function nameOf(run: Run, { input }: TodoInput): string {
  return (
    input.plates.find(({ plate }) => plate.id === run.plateId)?.plate.name ??
    input.runningNames?.[run.id] ??
    run.plateId
  );
}

function changeAndStart(run: Run, all: TodoInput, latestStart: string | undefined): Todo[] {
  const { input, built } = all;
  const zone = input.hours.timeZone;
  const attendS = toEpochS(run.attendFrom);
  const startS = toEpochS(run.start);
  const endS = toEpochS(run.end);
  const spools = run.spools.map((draw) => `spool ${draw.spoolId}`);
  const job = built.jobs.find((candidate) => candidate.plate.id === run.plateId)!;
  const figure = job.durationS[input.printers.findIndex((printer) => printer.id === run.printerId)]!;
  const around =
    figure.low === undefined || figure.high === undefined
      ? ''
      : ` (${clockText(startS + figure.low, attendS, zone)} to ${clockText(startS + figure.high, attendS, zone)})`;
  const says = [
    `start ${nameOf(run, all)} on ${run.printerId}`,
    ...spools,
    `watch until ${clockText(toEpochS(run.watchedUntil), attendS, zone)}`,
    `ends about ${clockText(endS, attendS, zone)}${around}`,
    ...(run.alone === undefined ? [] : [`runs while you are ${run.alone.join(' and ')}`]),
  ].join(', ');
  const common = { printerId: run.printerId, runId: run.id, plateId: run.plateId };
  const workFromS = startS - input.hours.startWorkS;
  const late = latestStart === undefined ? {} : { latestStart };
  const start: Todo = {
    from: toInstant(workFromS, zone),
    to: run.watchedUntil,
    what: 'start',
    ...common,
    says,
    ...late,
  };
  if (workFromS <= attendS) return [start];
  const change: Todo = {
    from: run.attendFrom,
    to: toInstant(workFromS, zone),
    what: 'change',
    ...common,
    says: `put ${spools.length > 0 ? spools.join(' and ') : job.materialIds.join(' and ')} on ${run.printerId}`,
  };
  return [change, start];
}

/** What is put in while the printer waits for it. */
function pausing(run: Run, all: TodoInput): Todo[] {
  const job = all.built.jobs.find((candidate) => candidate.plate.id === run.plateId)!;
  const zone = all.input.hours.timeZone;
  return job.pauses.flatMap(({ says, atS }): Todo[] => {
    const at = atS[run.printerId];
    if (at === undefined) return [];
    const fromS = toEpochS(run.start) + at;
    return [
      {
        from: toInstant(fromS, zone),
        to: toInstant(fromS + PAUSE_WORK_S, zone),
        what: 'pause',
        printerId: run.printerId,
        runId: run.id,
        plateId: run.plateId,
        says: `${nameOf(run, all)} on ${run.printerId} waits: ${says}`,
      },
    ];
  });
}

function unloading(run: Run, all: TodoInput): Todo {
  return {
    from: run.unloadFrom,
    to: run.unloadEnd,
    what: 'unload',
    printerId: run.printerId,
    runId: run.id,
    plateId: run.plateId,
    says: `unload ${nameOf(run, all)} from ${run.printerId}`,
  };
}

/** Before the first run of a spool whose material wants drying: begun in presence, early enough, or as soon as the plan begins. */
function drying(run: Run, spoolId: string, { input, built }: TodoInput): Todo[] {
  const spool = input.spools?.find((candidate) => candidate.id === spoolId);
  const material = input.materials.find((candidate) => candidate.id === spool?.materialId);
  if (material === undefined || !(material.dryS > 0) || spool?.dry === true) return [];
  const zone = input.hours.timeZone;
  const attendS = toEpochS(run.attendFrom);
  // What is known to be damp was waited for: it goes into the dryer when the person is first there.
  const byS = spool?.dry === false ? built.startS + firstPresentS(built.presence) : attendS - material.dryS;
  let fromS = built.startS;
  for (const span of built.presence) {
    if (span.kind === 'present' && span.fromS <= byS) fromS = Math.max(built.startS, Math.min(byS, span.toS));
  }
  const before = clockText(attendS, fromS, zone);
  const when =
    byS < built.startS ? `; its run starts ${before}, so it should have begun before this plan` : ` before ${before}`;
  return [
    {
      from: toInstant(fromS, zone),
      to: run.attendFrom,
      ...(byS < built.startS ? {} : { latestStart: toInstant(fromS, zone) }),
      what: 'dry',
      printerId: run.printerId,
      runId: run.id,
      plateId: run.plateId,
      says: `dry spool ${spoolId} (${material.name ?? material.id}, ${formatMass(spool!.netG)}) for ${formatDuration(material.dryS)}${when}`,
    },
  ];
}

/**
 * The latest start of the run's work with every other run as planned: within the same stretch of presence, before the person's
 * next block, so that the printer is ready for its next run, before it goes out of service, within its due and the window.
 */
function latestOf(run: Run, { runs, built, input }: TodoInput): string | undefined {
  if (run.state !== 'planned') return undefined;
  const { queue, startS } = built;
  const fromS = toEpochS(run.start) - input.hours.startWorkS - startS;
  const endS = toEpochS(run.end) - startS;
  const watchedS = toEpochS(run.watchedUntil) - startS;
  const k = queue.machines.findIndex((machine) => machine.id === run.printerId);
  const machine = queue.machines[k]!;
  const job = built.jobs.find((candidate) => candidate.plate.id === run.plateId)!;
  if (job.pauses.length > 0) return toInstant(startS + fromS, input.hours.timeZone);
  let slack = Math.min(job.dueS < endS ? Infinity : job.dueS, queue.until) - endS;
  const stretch = queue.present.find(([a, b]) => a <= fromS && b >= watchedS);
  if (stretch !== undefined) slack = Math.min(slack, stretch[1] - (machine.unattended ? watchedS : endS));
  for (const [downFrom] of machine.down) if (downFrom >= endS) slack = Math.min(slack, downFrom - endS);
  slack = Math.min(slack, toEpochS(run.unloadFrom) - startS - endS - machine.coolDown);
  for (const other of runs) {
    for (const block of [other.attendFrom, other.unloadFrom]) {
      const at = toEpochS(block) - startS;
      if (other !== run && queue.persons === 'one' && at >= watchedS) slack = Math.min(slack, at - watchedS);
    }
    for (const draw of other.spools) {
      const at = toEpochS(other.attendFrom) - startS;
      if (other !== run && at >= endS && run.spools.some((mine) => mine.spoolId === draw.spoolId))
        slack = Math.min(slack, at - endS);
    }
  }
  return slack < Infinity ? toInstant(startS + fromS + Math.max(0, slack), input.hours.timeZone) : undefined;
}
