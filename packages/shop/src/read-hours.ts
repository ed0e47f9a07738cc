import { StonehandError } from '@stonehand/base';
import type { DaySpan, Hours, PresenceKind, Weekday } from '@stonehand/model';
import { layOver, parseDaySpans, splitAtMidnight } from './day-spans.ts';
import { childOf, complain, durationOf, type Entry, given, rawOf, wordOf } from './fields.ts';

const WEEKDAYS: readonly Weekday[] = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];
// Longer is a typing slip in a year, and every date becomes an entry.
const LONGEST_RANGE_DAYS = 400;

/** Clearing, loading, watching the first layer: 10 to 15 minutes a start; unloading 5 (common practice, no source). */
const WORK_DEFAULTS = { watchS: 480, startWorkS: 300, unloadWorkS: 300 } as const;

/** Spans as they were written, by the day they start on; toMin above 1440 is the next day. */
interface WrittenHours {
  readonly weekly: Readonly<Record<Weekday, readonly DaySpan[]>>;
  readonly dates: ReadonlyMap<string, readonly DaySpan[]>;
}

/** The hours of shop/hours.yaml. */
export function readHours(file: Entry, timeZone: string): Hours {
  const written = { weekly: readWeek(childOf(file, 'week')), dates: readDates(childOf(file, 'dates')) };
  const works = {
    watchS: durationOf(file, 'watch'),
    startWorkS: durationOf(file, 'startWork'),
    unloadWorkS: durationOf(file, 'unloadWork'),
  };
  const otherwise = wordOf(file, 'otherwise', ['present', 'asleep', 'away'] as const) ?? 'away';
  return { ...splitHours(written, timeZone, otherwise), ...given({ ...works, quiet: readQuiet(file) }) };
}

/** `22:00-07:00` of every day; what runs past midnight is the next morning's. */
function readQuiet(file: Entry): Hours['quiet'] {
  const text = rawOf(file, 'quiet');
  if (typeof text !== 'string') return undefined;
  try {
    const { day, spill } = splitAtMidnight(parseDaySpans(text.split(',').map((span) => `${span.trim()} present`)));
    return [...spill, ...day].map(({ fromMin, toMin }) => ({ fromMin, toMin }));
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    complain(file, ['quiet'], cause.code, `"quiet": ${cause.message}`, 'Write spans such as 22:00-07:00.');
    return undefined;
  }
}

/**
 * Evenings and weekends, when nothing says otherwise: present 17:30–22:30 (weekends 08:00–22:30), asleep until 06:30
 * (weekends 08:00), else away. Common practice, no source.
 */
export function defaultHours(timeZone: string): Hours {
  const evening = parseDaySpans(['17:30-22:30 present', '22:30-06:30 asleep']);
  const friday = parseDaySpans(['17:30-22:30 present', '22:30-08:00 asleep']);
  const saturday = parseDaySpans(['08:00-22:30 present', '22:30-08:00 asleep']);
  const sunday = parseDaySpans(['08:00-22:30 present', '22:30-06:30 asleep']);
  const weekly = { mon: evening, tue: evening, wed: evening, thu: evening, fri: friday, sat: saturday, sun: sunday };
  return splitHours({ weekly, dates: new Map() }, timeZone, 'away');
}

/**
 * A span belongs to the day it starts on: what runs past midnight is given to the day after, where that day's own
 * spans leave room. A date that is written out replaces its weekday, so the day after it is resolved by date too.
 */
function splitHours(written: WrittenHours, timeZone: string, otherwise: PresenceKind): Hours {
  const ownOn = (date: string): readonly DaySpan[] => written.dates.get(date) ?? written.weekly[weekdayOf(date)];
  const resolve = (own: readonly DaySpan[], before: readonly DaySpan[]): DaySpan[] =>
    layOver(splitAtMidnight(own).day, splitAtMidnight(before).spill);
  const weekly: Record<Weekday, readonly DaySpan[]> = { ...written.weekly };
  for (const [i, day] of WEEKDAYS.entries()) {
    weekly[day] = resolve(written.weekly[day], written.weekly[WEEKDAYS[(i + 6) % 7]!]);
  }
  const dates = [...new Set([...written.dates.keys()].flatMap((date) => [date, shiftDate(date, 1)]))].sort();
  const exceptions = Object.fromEntries(dates.map((date) => [date, resolve(ownOn(date), ownOn(shiftDate(date, -1)))]));
  return { timeZone, otherwise, weekly, exceptions, ...WORK_DEFAULTS };
}

function readWeek(week: Entry): Record<Weekday, readonly DaySpan[]> {
  const spans: Record<Weekday, readonly DaySpan[]> = { mon: [], tue: [], wed: [], thu: [], fri: [], sat: [], sun: [] };
  const seen = new Set<Weekday>();
  for (const key of Object.keys(week.raw)) {
    const days = readDay(week, key);
    for (const day of weekdaysOf(key)) {
      if (seen.has(day))
        complain(childOf(week, key), [], 'DATA_DUPLICATE', `"${day}" is there twice`, 'Name each day once.');
      seen.add(day);
      spans[day] = days;
    }
  }
  return spans;
}

function readDates(dates: Entry): Map<string, readonly DaySpan[]> {
  const spans = new Map<string, readonly DaySpan[]>();
  for (const key of Object.keys(dates.raw)) {
    const day = readDay(dates, key);
    const [first, last = first] = key.split(' to ') as [string, string?];
    if (!isDate(first) || !isDate(last) || last < first) {
      complain(
        childOf(dates, key),
        [],
        'TIME_INVALID',
        `"${key}" is not a date or a run of dates`,
        'Write 2026-06-05, or 2026-06-10 to 2026-06-14.',
      );
      continue;
    }
    let date = first;
    for (let n = 0; date <= last; n++, date = shiftDate(date, 1)) {
      if (n >= LONGEST_RANGE_DAYS) {
        complain(
          childOf(dates, key),
          [],
          'TIME_INVALID',
          `"${key}" is longer than ${LONGEST_RANGE_DAYS} days`,
          'Change the week instead.',
        );
        break;
      }
      if (spans.has(date))
        complain(childOf(dates, key), [], 'DATA_DUPLICATE', `${date} is there twice`, 'Name each date once.');
      spans.set(date, day);
    }
  }
  return spans;
}

function readDay(entry: Entry, key: string): DaySpan[] {
  const value = rawOf(entry, key);
  const texts =
    typeof value === 'string' ? [value] : Array.isArray(value) ? value.filter((v) => typeof v === 'string') : [];
  try {
    return parseDaySpans(texts);
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    complain(entry, [key], cause.code, `"${key}": ${cause.message}`, cause.remedy);
    return [];
  }
}

/** mon-wed, sat → the days, over the end of the week if need be (sat-mon). */
function weekdaysOf(key: string): Weekday[] {
  return key.split(',').flatMap((part) => {
    const [first, last = first] = part.trim().split('-');
    const [from, to] = [first, last].map((name) => WEEKDAYS.indexOf(name as Weekday)) as [number, number];
    if (from < 0 || to < 0) return [];
    return Array.from({ length: ((to - from + 7) % 7) + 1 }, (_, i) => WEEKDAYS[(from + i) % 7]!);
  });
}

function isDate(text: string): boolean {
  const time = Date.parse(`${text}T00:00:00Z`);
  return Number.isFinite(time) && new Date(time).toISOString().startsWith(text);
}

function shiftDate(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);
}

function weekdayOf(date: string): Weekday {
  return WEEKDAYS[(new Date(`${date}T00:00:00Z`).getUTCDay() + 6) % 7]!;
}
