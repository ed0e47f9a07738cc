import type { Hours, Printer, Run, Weekday } from '@stonehand/model';
import type { Schedule, ScheduleInput } from '@stonehand/schedule';

/**
 * The rules of runs, written from the rules alone and by other means than the scheduler: presence is looked up point by point
 * on the local clock (as Intl gives it), changes are replayed from what hung on each printer. Returns every broken rule in words; none when fine.
 * Hours and clock changes must lie on a grid of quarter hours.
 */
export function brokenRules(input: ScheduleInput, schedule: Schedule): string[] {
  const broken: string[] = [];
  const check = (holds: boolean, says: string): void => {
    if (!holds) broken.push(says);
  };
  everyPlateOnce(input, schedule, check);
  for (const run of schedule.runs) {
    if (run.state === 'planned') plannedRun(run, input, schedule, check);
    unloading(run, input, check);
  }
  onePrinterAtATime(input, schedule, check);
  onePersonAtATime(input, schedule, check);
  spoolsLast(input, schedule, check);
  changesTakeTheirTime(input, schedule, check);
  todoComplete(schedule, check);
  return broken;
}

type Check = (holds: boolean, says: string) => void;

const seconds = (instant: string): number => Date.parse(instant) / 1000;
const printerOf = (run: Run, input: ScheduleInput): Printer =>
  input.printers.find((printer) => printer.id === run.printerId)!;

function everyPlateOnce(input: ScheduleInput, schedule: Schedule, check: Check): void {
  const planned = schedule.runs.filter((run) => run.state === 'planned').map((run) => run.plateId);
  const waiting = schedule.waiting.map((one) => one.plateId);
  const wanted = input.plates.map(({ plate }) => plate.id).sort();
  check([...planned, ...waiting].sort().join() === wanted.join(), `every plate exactly once: ${planned} + ${waiting}`);
  for (const { reason } of schedule.waiting) check(reason.length > 5, `a reason in words, not "${reason}"`);
}

function plannedRun(run: Run, input: ScheduleInput, schedule: Schedule, check: Check): void {
  const { hours } = input;
  const printer = printerOf(run, input);
  const toRun = input.plates.find(({ plate }) => plate.id === run.plateId)!;
  const choices = toRun.choices ?? [toRun.plate];
  const durationS = choices.find((choice) => choice.printerId === run.printerId)?.durationS.value ?? Number.NaN;
  const [attend, start, watched, end] = [run.attendFrom, run.start, run.watchedUntil, run.end].map(seconds) as [
    number,
    number,
    number,
    number,
  ];
  const name = `${run.plateId} on ${run.printerId}`;
  check(Math.abs(end - start - durationS) < 1.5, `${name}: lasts as estimated`);
  check(durationS <= printer.longestRunS, `${name}: not longer than its owner allows`);
  check(attend >= seconds(input.from), `${name}: nothing before the plan begins`);
  check(input.to === undefined || end <= seconds(input.to), `${name}: ends within the window`);
  check(toRun.notBefore === undefined || attend >= seconds(toRun.notBefore), `${name}: not before it may`);
  check(start - attend >= hours.startWorkS, `${name}: work before the start`);
  check(watched - start >= Math.min(hours.watchS, end - start) - 1, `${name}: first minutes watched`);
  check(presentThroughout(hours, attend, watched), `${name}: somebody there for start and watch`);
  const throughout = presentThroughout(hours, attend, end);
  check(throughout || printer.unattended, `${name}: ${printer.id} must not run unattended`);
  check(run.unattended === !throughout, `${name}: says whether it runs unattended`);
  const kinds = new Set<string>();
  for (let at = start; at < end; at = nextQuarter(at)) kinds.add(presenceAt(hours, at));
  kinds.delete('present');
  check(
    [...kinds].sort().join() === [...(run.alone ?? [])].sort().join(),
    `${name}: says what the person does meanwhile`,
  );
  const allowed = printer.aloneWhile;
  if (allowed !== undefined)
    check(
      [...kinds].every((kind) => allowed.some((one) => one === kind)),
      `${name}: ${printer.id} may be left alone only while its owner is ${allowed.join(' or ')}`,
    );
  if (printer.loud === true)
    for (let at = start; at < end; at = nextQuarter(at)) {
      const { minute } = clock(at, hours.timeZone);
      const quiet = (hours.quiet ?? []).some(({ fromMin, toMin }) => minute >= fromMin && minute < toMin);
      check(!quiet, `${name}: ${printer.id} stands still in the quiet hours`);
      if (quiet) break;
    }
  for (const before of toRun.after ?? []) {
    if (!input.plates.some(({ plate }) => plate.id === before)) continue;
    const earlier = schedule.runs.find(({ plateId }) => plateId === before);
    check(earlier !== undefined && seconds(earlier.end) <= attend, `${name}: after the test piece on ${before}`);
  }
  for (const { says, atS } of toRun.pauses ?? []) {
    const pause = start + (atS[run.printerId] ?? Number.NaN);
    check(presentThroughout(hours, pause, pause + 300), `${name}: somebody there to ${says}`);
  }
  for (const { spoolId } of run.spools) {
    const spool = input.spools?.find(({ id }) => id === spoolId);
    const dryS = input.materials.find(({ id }) => id === spool?.materialId)?.dryS ?? 0;
    if (spool?.dry === false) check(attend >= seconds(input.from) + dryS, `${name}: spool ${spoolId} is dried first`);
  }
  for (const period of printer.outOfService ?? []) {
    check(
      end <= localMoment(period.from, hours) || attend >= localMoment(period.to, hours),
      `${name}: ${printer.id} is out of service`,
    );
  }
}

function unloading(run: Run, input: ScheduleInput, check: Check): void {
  const from = seconds(run.unloadFrom);
  const to = seconds(run.unloadEnd);
  const name = `unloading ${run.plateId}`;
  check(from >= seconds(run.end) + printerOf(run, input).coolDownS, `${name}: after cooling down`);
  check(to - from >= input.hours.unloadWorkS, `${name}: takes its time`);
  check(presentThroughout(input.hours, from, to), `${name}: somebody there`);
}

function onePrinterAtATime(input: ScheduleInput, schedule: Schedule, check: Check): void {
  for (const printer of input.printers) {
    const mine = schedule.runs
      .filter((run) => run.printerId === printer.id)
      .sort((a, b) => seconds(a.start) - seconds(b.start));
    mine.slice(1).forEach((run, i) => {
      check(
        seconds(mine[i]!.unloadEnd) <= seconds(run.attendFrom),
        `${printer.id}: unloaded before ${run.plateId} is started`,
      );
    });
  }
}

function onePersonAtATime(input: ScheduleInput, schedule: Schedule, check: Check): void {
  if (input.persons !== undefined && input.persons !== 1) return;
  const blocks = schedule.runs.flatMap((run) => {
    const unload = { from: seconds(run.unloadFrom), to: seconds(run.unloadEnd), says: `unload ${run.plateId}` };
    if (run.state !== 'planned') return [unload];
    const pauses = (input.plates.find(({ plate }) => plate.id === run.plateId)?.pauses ?? []).map(({ atS }) => {
      const from = seconds(run.start) + (atS[run.printerId] ?? Number.NaN);
      return { from, to: from + 300, says: `put something into ${run.plateId}` };
    });
    const start = { from: seconds(run.attendFrom), to: seconds(run.watchedUntil), says: `start ${run.plateId}` };
    return [unload, start, ...pauses];
  });
  for (const [i, a] of blocks.entries()) {
    for (const b of blocks.slice(i + 1))
      check(a.to <= b.from || b.to <= a.from, `one person cannot ${a.says} and ${b.says} at once`);
  }
}

function spoolsLast(input: ScheduleInput, schedule: Schedule, check: Check): void {
  if (input.spools === undefined) return;
  const keepBackG = input.keepBackG ?? 15;
  const purgeG = input.purgeG ?? 3;
  for (const spool of input.spools) {
    const users = schedule.runs.filter((run) => run.spools.some((draw) => draw.spoolId === spool.id));
    let drawnG = 0;
    for (const run of users) {
      if (run.state !== 'planned') {
        drawnG += run.spools.find((draw) => draw.spoolId === spool.id)!.massG;
        continue;
      }
      const toRun = input.plates.find(({ plate }) => plate.id === run.plateId)!;
      check(toRun.plate.materialIds.includes(spool.materialId), `${run.plateId}: spool ${spool.id} is of its material`);
      const choice = (toRun.choices ?? [toRun.plate]).find((one) => one.printerId === run.printerId)!;
      drawnG += (toRun.needG?.[spool.materialId] ?? choice.massG.high ?? choice.massG.value) + purgeG;
    }
    check(
      drawnG <= spool.lowG - keepBackG + 1e-6 || users.every((run) => run.state !== 'planned'),
      `spool ${spool.id} would run out`,
    );
    for (const [i, a] of users.entries()) {
      for (const b of users.slice(i + 1)) {
        const apart = seconds(a.end) <= seconds(b.attendFrom) || seconds(b.end) <= seconds(a.attendFrom);
        check(apart, `spool ${spool.id} cannot hang on two printers at once (${a.plateId}, ${b.plateId})`);
      }
    }
  }
  for (const run of schedule.runs.filter((one) => one.state === 'planned')) {
    const materials = run.spools.map((draw) => input.spools!.find((spool) => spool.id === draw.spoolId)?.materialId);
    const wanted = input.plates.find(({ plate }) => plate.id === run.plateId)!.plate.materialIds;
    check(
      [...materials].sort().join() === [...wanted].sort().join(),
      `${run.plateId}: a spool for each of its materials`,
    );
  }
}

/** What hangs where, replayed in the order of the work; each spool (or, without a shelf, material) that is put on takes changeS. */
function changesTakeTheirTime(input: ScheduleInput, schedule: Schedule, check: Check): void {
  const on = new Map<string, string[]>();
  for (const printer of input.printers) {
    const now = input.printersNow?.[printer.id];
    const first = input.spools === undefined ? now?.materialId : now?.spoolId;
    const running = schedule.runs.find((run) => run.printerId === printer.id && run.state === 'running');
    const ofRun = running?.spools.map((draw) => draw.spoolId) ?? [];
    on.set(printer.id, ofRun.length > 0 && input.spools !== undefined ? ofRun : first === undefined ? [] : [first]);
  }
  const planned = schedule.runs.filter((run) => run.state === 'planned');
  for (const run of [...planned].sort((a, b) => seconds(a.attendFrom) - seconds(b.attendFrom))) {
    const needs =
      input.spools === undefined
        ? input.plates.find(({ plate }) => plate.id === run.plateId)!.plate.materialIds
        : run.spools.map((draw) => draw.spoolId);
    const puts = needs.filter((id) => !on.get(run.printerId)!.includes(id)).length;
    const workS = input.hours.startWorkS + puts * printerOf(run, input).changeS;
    check(
      seconds(run.start) - seconds(run.attendFrom) >= workS,
      `${run.plateId} on ${run.printerId}: ${puts} changes take their time`,
    );
    if (input.spools !== undefined)
      for (const [id, list] of on)
        on.set(
          id,
          list.filter((spool) => !needs.includes(spool)),
        );
    on.set(run.printerId, [...needs]);
  }
}

function todoComplete(schedule: Schedule, check: Check): void {
  const times = schedule.todo.map((one) => seconds(one.from));
  check(
    times.every((at, i) => i === 0 || times[i - 1]! <= at),
    'the list of things to do is in order of time',
  );
  for (const run of schedule.runs) {
    const mine = schedule.todo.filter((one) => one.runId === run.id);
    const starts = mine.filter((one) => one.what === 'start');
    check(starts.length === (run.state === 'planned' ? 1 : 0), `${run.plateId} is started once in the list`);
    check(mine.filter((one) => one.what === 'unload').length === 1, `${run.plateId} is unloaded once in the list`);
    for (const start of starts) {
      check(
        start.latestStart === undefined || seconds(start.latestStart) >= seconds(start.from),
        `${run.plateId}: latest start is not before the start`,
      );
    }
  }
}

export function presentThroughout(hours: Hours, fromS: number, toS: number): boolean {
  for (let at = fromS; at < toS; at = nextQuarter(at)) if (presenceAt(hours, at) !== 'present') return false;
  return true;
}

const nextQuarter = (s: number): number => (Math.floor(s / 900) + 1) * 900;

function presenceAt(hours: Hours, epochS: number): string {
  const local = clock(epochS, hours.timeZone);
  const spans = hours.exceptions[local.date] ?? hours.weekly[local.weekday];
  let kind: string = hours.otherwise;
  for (const span of spans) if (span.fromMin <= local.minute && local.minute < span.toMin) kind = span.kind;
  return kind;
}

const formatters = new Map<string, Intl.DateTimeFormat>();

function clock(epochS: number, timeZone: string): { date: string; weekday: Weekday; minute: number } {
  let formatter = formatters.get(timeZone);
  if (formatter === undefined) {
    formatter = new Intl.DateTimeFormat('sv-SE', { timeZone, dateStyle: 'short', timeStyle: 'medium' });
    formatters.set(timeZone, formatter);
  }
  // sv-SE writes 2026-06-05 18:00:00.
  const [date, time] = formatter.format(1000 * epochS).split(' ') as [string, string];
  const [hour, minute, second] = time.split(':').map(Number) as [number, number, number];
  const weekday = (['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat'] as const)[new Date(`${date}T12:00Z`).getUTCDay()]!;
  return { date, weekday, minute: hour * 60 + minute + second / 60 };
}

/** Only for local times that occur once. */
function localMoment(text: string, { timeZone }: Hours): number {
  const asUtc = Date.parse(`${text.replace(' ', 'T')}Z`) / 1000;
  for (let offset = -14; offset <= 14; offset += 0.25) {
    const at = asUtc - 3600 * offset;
    const local = clock(at, timeZone);
    if (Date.parse(`${local.date}T00:00Z`) / 1000 + 60 * local.minute === asUtc) return at;
  }
  throw new Error(`${text} does not occur in ${timeZone}`);
}
