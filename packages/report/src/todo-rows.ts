import type { Instant, Plan, Run, Todo } from '@stonehand/model';
import type { PlanNames } from './plan-names.ts';
import { durationValue, hourText, listWords, localTime, massText, momentText } from './words.ts';

/** One row of what a person does: what belongs together at one printer is one row. */
export type TodoRow = Readonly<{
  from: Instant;
  what: Todo['what'];
  /** empty where it is no printer's work: drying of several spools */
  printer: string;
  /** without the printer: `put spool A1 on, start 3 eye bezels` */
  says: string;
  more: readonly string[];
}>;

/**
 * The plan's things to do as rows: a change of spools goes with the start it serves, and what must dry at the plan's start is one
 * row. The words are made from the run; a thing to do without a known run or plate is told as the scheduler says it.
 */
export function todoRows(plan: Plan, names: PlanNames): TodoRow[] {
  const rows: TodoRow[] = [];
  const first = plan.todo.filter((todo) => todo.what === 'dry' && isSame(todo.from, plan.planFrom));
  const changeOf = new Map<Todo, Todo>();
  for (const start of plan.todo) {
    if (start.what !== 'start' || names.run(start.runId) === undefined) continue;
    const change = plan.todo.find((t) => t.what === 'change' && t.runId === start.runId && isSame(t.to, start.from));
    if (change !== undefined) changeOf.set(change, start);
  }
  for (const todo of plan.todo) {
    if (todo.what === 'dry' && first.length > 1 && first.includes(todo)) {
      if (todo === first[0]) rows.push(firstDrying(plan, names, first));
      continue;
    }
    const served = changeOf.get(todo);
    if (served !== undefined) rows.push(startRow(plan, names, served, todo));
    else if (todo.what === 'start' && [...changeOf.values()].includes(todo)) continue;
    else rows.push(row(plan, names, todo));
  }
  return rows;
}

/** The row as one sentence without its time and printer. */
export function rowText(row: TodoRow): string {
  return [row.says, row.more.join(', ')].filter((text) => text !== '').join('; ');
}

function row(plan: Plan, names: PlanNames, todo: Todo): TodoRow {
  if (todo.what === 'start' && names.run(todo.runId) !== undefined) return startRow(plan, names, todo);
  const plate = names.plate(todo.plateId);
  const printer = names.printerName(todo.printerId);
  const base = { from: todo.from, what: todo.what, printer };
  if (todo.what === 'unload' && plate !== undefined) return { ...base, says: `unload ${plate.name}`, more: [] };
  if (todo.what === 'dry') {
    const spool = driedSpool(plan, names, todo);
    if (spool !== undefined) {
      const when = todo.latestStart === undefined ? BEGUN_BEFORE : `to be ready ${near(todo.to, todo.from, plan)}`;
      return { ...base, printer: '', says: `dry spool ${spool.id}`, more: [hoursText(spool.dryS), when] };
    }
  }
  const late = todo.latestStart === undefined ? [] : [`at the latest ${near(todo.latestStart, todo.from, plan)}`];
  return { ...base, says: todo.says, more: late };
}

function startRow(plan: Plan, names: PlanNames, start: Todo, change?: Todo): TodoRow {
  const run = names.run(start.runId)!;
  const from = change?.from ?? start.from;
  const spools = spoolWords(run.spools.map((draw) => draw.spoolId));
  const name = names.plate(run.plateId)?.name ?? start.plateId;
  const put = change === undefined ? '' : spools === '' ? `${change.says}, ` : `put ${spools} on, `;
  const more = [
    ...(change === undefined && spools !== '' ? [spools] : []),
    `watch until ${near(run.watchedUntil, from, plan)}`,
    `ends ${endText(plan, names, run, from)}`,
    ...(run.unattended ? [aloneWords(run)] : []),
  ];
  // As long as nothing gives, the latest moment is the one in front of the row.
  const slackMs = start.latestStart === undefined ? 0 : Date.parse(start.latestStart) - Date.parse(start.from);
  if (slackMs >= LEAST_SLACK_MS) {
    const latest = new Date(Date.parse(from) + slackMs).toISOString();
    more.push(`latest ${near(latest, from, plan)}`);
  }
  return { from, what: 'start', printer: names.printerName(start.printerId), says: `${put}start ${name}`, more };
}

const LEAST_SLACK_MS = 5 * 60_000;
const BEGUN_BEFORE = 'should have begun before this plan';

function firstDrying(plan: Plan, names: PlanNames, all: readonly Todo[]): TodoRow {
  const spools = all.map((todo) => ({ todo, spool: driedSpool(plan, names, todo) }));
  const byHours = new Map<string, string[]>();
  for (const { spool } of spools) {
    if (spool === undefined) continue;
    const hours = hoursText(spool.dryS);
    byHours.set(hours, [...(byHours.get(hours) ?? []), spool.id]);
  }
  const known = [...byHours.values()].flat();
  const late = all.filter((todo) => todo.latestStart === undefined).length;
  const said = [
    ...(known.length === 0 ? [] : [spoolWords(known)]),
    ...spools.filter(({ spool }) => spool === undefined).map(({ todo }) => todo.says.replace(/^dry /, '')),
  ];
  const hours = [...byHours].map(([length, ids]) => (byHours.size === 1 ? length : `${listWords(ids)} ${length}`));
  const begun = late === all.length ? [BEGUN_BEFORE] : late === 0 ? [] : [`${late} of them ${BEGUN_BEFORE}`];
  return { from: all[0]!.from, what: 'dry', printer: '', says: `dry ${listWords(said)}`, more: [...hours, ...begun] };
}

/** The spool of the run that the words are about, with the time its material wants. */
function driedSpool(plan: Plan, names: PlanNames, todo: Todo): { id: string; dryS: number } | undefined {
  const draws = names.run(todo.runId)?.spools ?? [];
  const id = draws.find((draw) => `${todo.says} `.includes(`spool ${draw.spoolId} `))?.spoolId;
  const material = names.material(plan.spools.find((spool) => spool.id === id)?.materialId ?? '');
  return id === undefined || material === undefined ? undefined : { id, dryS: material.dryS };
}

function hoursText(seconds: number): string {
  return durationValue({ value: seconds, from: '' });
}

function spoolWords(ids: readonly string[]): string {
  return ids.length === 0 ? '' : `${ids.length === 1 ? 'spool' : 'spools'} ${listWords(ids)}`;
}

/** `22:47 (22:06 to Sat 00:09)`: the run's end with the interval of its duration. */
function endText(plan: Plan, names: PlanNames, run: Run, from: Instant): string {
  const duration = names.plate(run.plateId)?.durationS;
  const at = (s: number): string => near(new Date(Date.parse(run.start) + s * 1000).toISOString(), run.end, plan);
  const end = near(run.end, from, plan);
  return duration?.low === undefined || duration.high === undefined
    ? end
    : `${end} (${at(duration.low)} to ${at(duration.high)})`;
}

/** The hour alone on the day that the reader is in already. */
function near(instant: Instant, reader: Instant, plan: Plan): string {
  const same = localTime(instant, plan).hasSame(localTime(reader, plan), 'day');
  return same ? hourText(instant, plan) : momentText(instant, plan);
}

function aloneWords(run: Run): string {
  return run.alone === undefined || run.alone.length === 0 ? 'unattended' : `you are ${listWords(run.alone)}`;
}

/** What must be on a run's spools and what is: `spool A1 (237 g on it, needs 24 g)`. */
export function drawText(plan: Plan, run: Run): string {
  const g = (value: number): string => massText({ value, from: '' }, plan.unitsShown);
  return listWords(
    run.spools.map(({ spoolId, massG }) => {
      const spool = plan.spools.find((s) => s.id === spoolId);
      return `spool ${spoolId} (${spool === undefined ? '' : `${g(spool.netG)} on it, `}needs ${g(massG)})`;
    }),
  );
}

function isSame(a: Instant, b: Instant): boolean {
  return Date.parse(a) === Date.parse(b);
}
