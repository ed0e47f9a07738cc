import { StonehandError } from '@stonehand/base';
import type { DaySpan, Hours, Instant, PresenceKind, Weekday } from '@stonehand/model';
import { DateTime } from 'luxon';
import { checkZone, toEpochS } from './moment.ts';

const WEEKDAYS: readonly Weekday[] = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];

/** Seconds since 1970-01-01T00:00Z. */
export type PresenceSpan = Readonly<{ fromS: number; toS: number; kind: PresenceKind }>;

/**
 * What the person can do when, from one moment to another, without gaps, neighbours of different kind.
 * The rule at clock changes: presence at an instant is what the hours say for the local clock reading at that instant. So an
 * hour that the clock skips is nobody's, and an hour that occurs twice counts both times.
 * @throws StonehandError TIME_INVALID when `to` is before `from` or the zone is unknown
 */
export function presenceSpans(hours: Hours, from: Instant, to: Instant): PresenceSpan[] {
  checkZone(hours.timeZone);
  const fromS = toEpochS(from);
  const toS = toEpochS(to);
  if (toS < fromS) throw new StonehandError('TIME_INVALID', `${to} is before ${from}`, 'Swap the two moments.');
  const spans: PresenceSpan[] = [];
  let day = DateTime.fromSeconds(fromS, { zone: hours.timeZone }).startOf('day');
  while (day.toSeconds() < toS) {
    const next = day.plus({ days: 1 }).startOf('day');
    const written = hours.exceptions[day.toISODate() ?? ''] ?? hours.weekly[WEEKDAYS[day.weekday - 1]!];
    for (const piece of evenPieces(day, next)) addDay(spans, piece, written, hours.otherwise, fromS, toS);
    day = next;
  }
  return spans;
}

/** The moments of one local day during which the offset to UTC does not change, with what the clock shows at their start. */
type Piece = Readonly<{ fromS: number; toS: number; clockAtFromS: number }>;

function evenPieces(day: DateTime, next: DateTime): Piece[] {
  const fromS = day.toSeconds();
  const toS = next.toSeconds();
  const piece = (start: number, end: number): Piece => {
    const local = DateTime.fromSeconds(start, { zone: day.zone });
    return { fromS: start, toS: end, clockAtFromS: local.hour * 3600 + local.minute * 60 + local.second };
  };
  const offsetAt = (s: number): number => DateTime.fromSeconds(s, { zone: day.zone }).offset;
  if (offsetAt(fromS) === offsetAt(toS - 1)) return [piece(fromS, toS)];
  let before = fromS;
  let after = toS - 1;
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2);
    if (offsetAt(middle) === offsetAt(fromS)) before = middle;
    else after = middle;
  }
  return [piece(fromS, after), piece(after, toS)];
}

function addDay(
  spans: PresenceSpan[],
  piece: Piece,
  written: readonly DaySpan[],
  otherwise: PresenceKind,
  fromS: number,
  toS: number,
): void {
  const cuts = new Set([piece.fromS, piece.toS]);
  for (const span of written) {
    for (const minute of [span.fromMin, span.toMin]) {
      const s = piece.fromS + minute * 60 - piece.clockAtFromS;
      if (s > piece.fromS && s < piece.toS) cuts.add(s);
    }
  }
  const sorted = [...cuts].sort((a, b) => a - b);
  for (let i = 0; i + 1 < sorted.length; i++) {
    const start = Math.max(sorted[i]!, fromS);
    const end = Math.min(sorted[i + 1]!, toS);
    if (end <= start) continue;
    const clockMin = (sorted[i]! - piece.fromS + piece.clockAtFromS) / 60;
    // Where two spans of a day overlap, the later one in the list holds.
    const kind = written.findLast((span) => clockMin >= span.fromMin && clockMin < span.toMin)?.kind ?? otherwise;
    const last = spans.at(-1);
    if (last !== undefined && last.kind === kind && last.toS === start) spans[spans.length - 1] = { ...last, toS: end };
    else spans.push({ fromS: start, toS: end, kind });
  }
}
