import { StonehandError } from '@stonehand/base';
import type { Instant } from '@stonehand/model';
import { DateTime, IANAZone } from 'luxon';

const RFC3339 = /^\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?([Zz]|[+-]\d{2}:\d{2})$/;
const LOCAL = /^(\d{4})-(\d{2})-(\d{2})(?:[Tt ]+(\d{1,2}):(\d{2})(?::(\d{2}))?)?$/;
const NAMED = /^(?:([a-z]+)\s+)?(\d{1,2}):(\d{2})$/i;
const WEEKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];
const FULL_WEEKDAYS = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];
const REMEDY = 'Write "fri 18:00", "2026-06-05 18:00" or RFC 3339 such as 2026-06-05T18:00:00+02:00.';

export interface MomentOptions {
  /** IANA name, such as Europe/Berlin */
  readonly timeZone: string;
  /** what "fri 18:00", "tomorrow 8:00" and "18:00" are counted from; the first such moment that is not before it is meant */
  readonly reference?: Instant;
}

/**
 * The moment that a text means, as RFC 3339 with the offset of the time zone at that moment.
 * A local time that occurs twice means its first occurrence (write RFC 3339 for the second).
 * @throws StonehandError TIME_INVALID for a text that is no moment, or a local time that the clock skips
 */
export function parseMoment(text: string, { timeZone, reference }: MomentOptions): Instant {
  checkZone(timeZone);
  const trimmed = text.trim();
  if (RFC3339.test(trimmed)) {
    const moment = DateTime.fromISO(trimmed.replace(' ', 'T').toUpperCase(), { setZone: true });
    if (!moment.isValid) throw unreadable(text);
    return toInstant(moment.toSeconds(), timeZone);
  }
  const local = LOCAL.exec(trimmed);
  if (local !== null) {
    const [year, month, day, hour, minute, second] = local.slice(1).map((digits) => Number(digits ?? 0));
    return atLocal(text, timeZone, [year!, month!, day!, hour!, minute!, second!]);
  }
  const named = NAMED.exec(trimmed);
  if (named !== null) {
    const time = { hour: Number(named[2]), minute: Number(named[3]) };
    return atNamed(text, timeZone, reference, named[1]?.toLowerCase(), time);
  }
  throw unreadable(text);
}

/** Seconds since 1970-01-01T00:00Z as RFC 3339 with the zone's offset then, to the whole second. */
export function toInstant(epochS: number, timeZone: string): Instant {
  const moment = DateTime.fromSeconds(Math.round(epochS), { zone: timeZone });
  const text = moment.toISO({ suppressMilliseconds: true });
  if (text === null) {
    throw new StonehandError('TIME_INVALID', `${epochS} s in "${timeZone}" is no moment`, 'Check the time zone.');
  }
  return text;
}

/** Seconds since 1970-01-01T00:00Z. @throws StonehandError TIME_INVALID when the text carries no offset or is no date */
export function toEpochS(instant: Instant): number {
  const moment = DateTime.fromISO(instant, { setZone: true });
  if (!RFC3339.test(instant) || !moment.isValid) throw unreadable(instant);
  return moment.toSeconds();
}

/** @throws StonehandError TIME_INVALID for a name that is no IANA zone */
export function checkZone(timeZone: string): void {
  if (IANAZone.isValidZone(timeZone)) return;
  throw new StonehandError(
    'TIME_INVALID',
    `"${timeZone}" is not a time zone`,
    'Write an IANA name such as Europe/Berlin.',
  );
}

type Parts = readonly [year: number, month: number, day: number, hour: number, minute: number, second: number];

function atLocal(text: string, timeZone: string, [year, month, day, hour, minute, second]: Parts): Instant {
  // 24:00 is the next midnight, as people write the end of a day.
  const endOfDay = hour === 24 && minute === 0 && second === 0;
  const wanted = { year, month, day, hour: endOfDay ? 0 : hour, minute, second };
  const first = DateTime.fromObject(wanted, { zone: timeZone });
  if (!first.isValid) throw unreadable(text);
  if (endOfDay) return toInstant(first.plus({ days: 1 }).startOf('day').toSeconds(), timeZone);
  if (first.hour !== wanted.hour || first.minute !== wanted.minute) {
    throw new StonehandError(
      'TIME_INVALID',
      `"${text}" does not exist in ${timeZone}: the clock is put forward over it`,
      'Name a time an hour later, or write RFC 3339 with an offset.',
    );
  }
  const twice = first.getPossibleOffsets();
  const earliest = twice.reduce((a, b) => (b.toSeconds() < a.toSeconds() ? b : a), first);
  return toInstant(earliest.toSeconds(), timeZone);
}

function atNamed(
  text: string,
  timeZone: string,
  reference: Instant | undefined,
  name: string | undefined,
  time: Readonly<{ hour: number; minute: number }>,
): Instant {
  if (reference === undefined) {
    throw new StonehandError('TIME_INVALID', `"${text}" has no date to count from`, REMEDY);
  }
  const fromS = toEpochS(reference);
  const today = DateTime.fromSeconds(fromS, { zone: timeZone }).startOf('day');
  const on = (days: number): Instant => {
    const day = today.plus({ days });
    return atLocal(text, timeZone, [day.year, day.month, day.day, time.hour, time.minute, 0]);
  };
  if (name === 'today') return on(0);
  if (name === 'tomorrow') return on(1);
  if (name === undefined) return toEpochS(on(0)) >= fromS ? on(0) : on(1);
  const weekday = WEEKDAYS.includes(name) ? WEEKDAYS.indexOf(name) : FULL_WEEKDAYS.indexOf(name);
  if (weekday < 0) throw unreadable(text);
  const ahead = (weekday + 1 - today.weekday + 7) % 7;
  return toEpochS(on(ahead)) >= fromS ? on(ahead) : on(ahead + 7);
}

function unreadable(text: string): StonehandError {
  return new StonehandError('TIME_INVALID', `"${text}" is not a moment`, REMEDY);
}
