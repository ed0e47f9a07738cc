import type { DaySpan, Hours, Instant, Weekday } from '@stonehand/model';
import { DateTime } from 'luxon';

const WEEKDAYS: readonly Weekday[] = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];
const DAY_MIN = 1440;

/**
 * The hours of somebody who prints in this window alone, week after week: presence outside its days and times becomes being away.
 * A window of a week or more leaves the hours as they are.
 */
export function hoursWithin(hours: Hours, from: Instant, to: Instant): Hours {
  const local = (instant: Instant): DateTime => DateTime.fromISO(instant, { zone: hours.timeZone });
  const [first, last] = [local(from), local(to)];
  if (last.diff(first, 'days').days >= 7) return hours;
  const open = new Map<Weekday, [number, number]>();
  for (let day = first.startOf('day'); day < last; day = day.plus({ days: 1 })) {
    const fromMin = day.hasSame(first, 'day') ? first.hour * 60 + first.minute : 0;
    const toMin = day.hasSame(last, 'day') ? last.hour * 60 + last.minute : DAY_MIN;
    open.set(WEEKDAYS[day.weekday - 1]!, [fromMin, toMin]);
  }
  const narrow = (spans: readonly DaySpan[], day: Weekday): readonly DaySpan[] =>
    spans.flatMap((span) => (span.kind === 'present' ? cut(span, open.get(day)) : [span]));
  return {
    ...hours,
    otherwise: hours.otherwise === 'present' ? 'away' : hours.otherwise,
    weekly: Object.fromEntries(WEEKDAYS.map((day) => [day, narrow(hours.weekly[day], day)])) as Hours['weekly'],
    exceptions: Object.fromEntries(
      Object.entries(hours.exceptions).map(([date, spans]) => [
        date,
        narrow(spans, WEEKDAYS[DateTime.fromISO(date).weekday - 1]!),
      ]),
    ),
  };
}

/** What of a present span lies in the window stays, the rest is away. */
function cut(span: DaySpan, window: readonly [number, number] | undefined): DaySpan[] {
  const fromMin = Math.max(span.fromMin, window?.[0] ?? DAY_MIN);
  const toMin = Math.min(span.toMin, window?.[1] ?? 0);
  if (fromMin >= toMin) return [{ ...span, kind: 'away' }];
  const parts: DaySpan[] = [
    { fromMin: span.fromMin, toMin: fromMin, kind: 'away' },
    { fromMin, toMin, kind: 'present' },
    { fromMin: toMin, toMin: span.toMin, kind: 'away' },
  ];
  return parts.filter((part) => part.fromMin < part.toMin);
}
