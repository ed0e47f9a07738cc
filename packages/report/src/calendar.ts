import { hashValue } from '@stonehand/base';
import type { Plan, Todo } from '@stonehand/model';
import { planNames } from './plan-names.ts';
import { capital, localTime, momentText, shortWords } from './words.ts';

/**
 * The person's work as an iCalendar object (RFC 5545): one event for each thing to do, in UTC, so that no VTIMEZONE is needed.
 * DTSTAMP is the plan's start, not the clock; a UID keeps to the run and the kind of work, so a renewed plan moves its events.
 */
export function renderCalendar(plan: Plan): string {
  const names = planNames(plan);
  const stamp = utc(plan.planFrom);
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//stonehand//plan//EN',
    'CALSCALE:GREGORIAN',
    `X-WR-CALNAME:${escapeText(plan.name)}`,
  ];
  const times = new Map<string, number>();
  for (const todo of plan.todo) {
    const key = `${todo.runId} ${todo.what}`;
    const nth = times.get(key) ?? 0;
    times.set(key, nth + 1);
    lines.push(
      'BEGIN:VEVENT',
      `UID:${hashValue([todo.runId, todo.what, todo.printerId, nth])}@stonehand.invalid`,
      `DTSTAMP:${stamp}`,
      `DTSTART:${utc(todo.from)}`,
    );
    // DTEND lies after DTSTART or is left out (3.6.1): then the event takes no time.
    if (Date.parse(todo.to) > Date.parse(todo.from)) lines.push(`DTEND:${utc(todo.to)}`);
    lines.push(
      `SUMMARY:${escapeText(capital(shortWords(todo.says)))}`,
      `LOCATION:${escapeText(names.printerName(todo.printerId))}`,
    );
    const description = describe(plan, todo, names.plate(todo.plateId)?.name);
    if (description !== '') lines.push(`DESCRIPTION:${escapeText(description)}`);
    lines.push('END:VEVENT');
  }
  lines.push('END:VCALENDAR');
  return `${lines.map(fold).join('\r\n')}\r\n`;
}

/** The scheduler's whole sentence where the title is only its beginning; else what the run itself says. */
function describe(plan: Plan, todo: Todo, plateName: string | undefined): string {
  const said: string[] = [];
  if (shortWords(todo.says) !== todo.says) said.push(capital(todo.says));
  if (plateName !== undefined) said.push(`Plate: ${plateName}`);
  if (todo.latestStart !== undefined) said.push(`At the latest ${momentText(todo.latestStart, plan)}`);
  const run = plan.runs.find((r) => r.id === todo.runId);
  if (run !== undefined && todo.what === 'start' && shortWords(todo.says) === todo.says) {
    said.push(`Watch until ${momentText(run.watchedUntil, plan)}`);
    said.push(`Ends about ${momentText(run.end, plan)}${run.unattended ? ', partly unattended' : ''}`);
  }
  return said.join('\n');
}

function utc(instant: string): string {
  return localTime(instant, { planFrom: instant, timeZone: 'utc' }).toFormat("yyyyMMdd'T'HHmmss'Z'");
}

/** TEXT values (3.3.11): backslash first, then semicolon, comma and line breaks; other control characters are not allowed. */
function escapeText(text: string): string {
  return text
    .replace(/\\/g, '\\\\')
    .replace(/[;,]/g, (c) => `\\${c}`)
    .replace(/\r\n|\r|\n/g, '\\n')
    .replace(/[^\P{Cc}\t]/gu, '');
}

const LINE_OCTETS = 75;

/** Content lines of at most 75 octets, going on after a line break and a space (3.1); never within a UTF-8 sequence. */
function fold(line: string): string {
  let out = '';
  let octets = 0;
  for (const letter of line) {
    const size = Buffer.byteLength(letter, 'utf8');
    if (octets + size > LINE_OCTETS) {
      out += '\r\n ';
      octets = 1;
    }
    out += letter;
    octets += size;
  }
  return out;
}
