import { StonehandError } from '@stonehand/base';
import type { DaySpan, PresenceKind } from '@stonehand/model';

const DAY_MIN = 1440;
const KINDS: readonly PresenceKind[] = ['present', 'asleep', 'away'];
const SPAN = /^(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})\s+(\p{L}+)$/u;
const REMEDY = 'Write spans such as 06:30-08:00 present, 22:30-06:30 asleep, or one word for the whole day.';

/**
 * The spans of one day as a person writes them; toMin above 1440 is the next day.
 * @throws StonehandError TIME_INVALID
 */
export function parseDaySpans(texts: readonly string[]): DaySpan[] {
  const spans = texts
    .flatMap((text) => text.split(','))
    .map((text) => parseSpan(text.trim()))
    .sort((a, b) => a.fromMin - b.fromMin || a.toMin - b.toMin);
  for (const [i, span] of spans.entries()) {
    const next = spans[i + 1];
    if (next !== undefined && next.fromMin < span.toMin) {
      throw new StonehandError(
        'TIME_INVALID',
        `${formatSpan(span)} and ${formatSpan(next)} overlap`,
        'Each moment can be in one span only.',
      );
    }
  }
  return spans;
}

/** `06:30-08:00 present`, as parseDaySpans reads it. */
function formatSpan(span: DaySpan): string {
  return `${clock(span.fromMin)}-${clock(span.toMin > DAY_MIN ? span.toMin - DAY_MIN : span.toMin)} ${span.kind}`;
}

/** `own` and, where it leaves room, the part of `spill` that reaches into the day. Touching spans of a kind become one. */
export function layOver(own: readonly DaySpan[], spill: readonly DaySpan[]): DaySpan[] {
  const rest = spill.flatMap((span) => without(span, own));
  const all = [...own, ...rest].sort((a, b) => a.fromMin - b.fromMin);
  const merged: DaySpan[] = [];
  for (const span of all) {
    const last = merged.at(-1);
    if (last !== undefined && last.kind === span.kind && last.toMin === span.fromMin) {
      merged[merged.length - 1] = { ...last, toMin: span.toMin };
    } else merged.push(span);
  }
  return merged;
}

/** What of a day's spans stays on that day, and what runs into the next. */
export function splitAtMidnight(spans: readonly DaySpan[]): { day: DaySpan[]; spill: DaySpan[] } {
  const day = spans.map((span) => ({ ...span, toMin: Math.min(span.toMin, DAY_MIN) }));
  const spill = spans
    .filter((span) => span.toMin > DAY_MIN)
    .map((span) => ({ fromMin: 0, toMin: span.toMin - DAY_MIN, kind: span.kind }));
  return { day, spill };
}

function parseSpan(text: string): DaySpan {
  const whole = KINDS.find((kind) => kind === text);
  if (whole !== undefined) return { fromMin: 0, toMin: DAY_MIN, kind: whole };
  const match = SPAN.exec(text);
  const kind = KINDS.find((name) => name === match?.[5]);
  if (match === null || kind === undefined)
    throw new StonehandError('TIME_INVALID', `"${text}" is not a span of a day`, REMEDY);
  const fromMin = minutes(match[1]!, match[2]!, text);
  const toMin = minutes(match[3]!, match[4]!, text);
  if (fromMin === toMin || fromMin === DAY_MIN) {
    throw new StonehandError('TIME_INVALID', `"${text}" is empty`, 'For a whole day write one word, such as away.');
  }
  return { fromMin, toMin: toMin > fromMin ? toMin : toMin + DAY_MIN, kind };
}

function minutes(hour: string, minute: string, text: string): number {
  const total = Number(hour) * 60 + Number(minute);
  if (Number(minute) < 60 && total <= DAY_MIN) return total;
  throw new StonehandError(
    'TIME_INVALID',
    `"${text}": there is no ${hour}:${minute}`,
    'Write times from 00:00 to 24:00.',
  );
}

function clock(min: number): string {
  return `${String(Math.floor(min / 60)).padStart(2, '0')}:${String(min % 60).padStart(2, '0')}`;
}

function without(span: DaySpan, covers: readonly DaySpan[]): DaySpan[] {
  let left: DaySpan[] = [span];
  for (const cover of covers) {
    left = left.flatMap((piece) =>
      [
        { ...piece, toMin: Math.min(piece.toMin, cover.fromMin) },
        { ...piece, fromMin: Math.max(piece.fromMin, cover.toMin) },
      ].filter((part) => part.toMin > part.fromMin && part.fromMin >= piece.fromMin && part.toMin <= piece.toMin),
    );
  }
  return left;
}
