import { parseMoment, presenceSpans, toEpochS, toInstant } from '@stonehand/schedule';
import { describe, expect, test } from 'vitest';
import { everyDay } from '../../../tests/arbitraries/shops.ts';

const hoursOf = (spans: readonly { fromS: number; toS: number; kind: string }[], kind = 'present'): number =>
  spans.filter((span) => span.kind === kind).reduce((sum, span) => sum + span.toS - span.fromS, 0) / 3600;

describe('presence', () => {
  const night = everyDay([[0, 6]]);

  // By hand: in Berlin 2026-03-29 00:00 is +01:00 = 23:00Z the day before, 06:00 is +02:00 = 04:00Z.
  test('a night from 0 to 6 has 5 hours when Berlin puts the clock forward', () => {
    const spans = presenceSpans(night, '2026-03-28T12:00:00+01:00', '2026-03-29T12:00:00+02:00');
    const there = spans.filter((span) => span.kind === 'present');
    expect(there).toHaveLength(1);
    expect(there[0]!.fromS).toBe(Date.UTC(2026, 2, 28, 23) / 1000);
    expect(there[0]!.toS).toBe(Date.UTC(2026, 2, 29, 4) / 1000);
  });

  // By hand: in New York 2026-11-01 00:00 is −04:00 = 04:00Z, 06:00 is −05:00 = 11:00Z.
  test('the same night has 7 hours when New York puts it back', () => {
    const hours = { ...night, timeZone: 'America/New_York' };
    const there = presenceSpans(hours, '2026-10-31T12:00:00-04:00', '2026-11-01T12:00:00-05:00').filter(
      (span) => span.kind === 'present',
    );
    expect(there).toEqual([
      { fromS: Date.UTC(2026, 10, 1, 4) / 1000, toS: Date.UTC(2026, 10, 1, 11) / 1000, kind: 'present' },
    ]);
  });

  test('an hour that does not exist is nobody’s: presence from 2 to 3 vanishes', () => {
    const spans = presenceSpans(everyDay([[2, 3]]), '2026-03-28T12:00:00+01:00', '2026-03-29T12:00:00+02:00');
    expect(hoursOf(spans)).toBe(0);
  });

  // By hand: the clock shows 01:30–02:30 from 23:30Z to 00:30Z; at 01:00Z it goes back to 02:00, and shows 02:00–02:30 once more.
  test('a half hour that occurs twice counts both times', () => {
    const spans = presenceSpans(everyDay([[1.5, 2.5]]), '2026-10-24T12:00:00+02:00', '2026-10-25T12:00:00+01:00');
    const there = spans.filter((span) => span.kind === 'present').map(({ fromS, toS }) => [fromS, toS]);
    const at = (hour: number, minute: number, day = 25): number => Date.UTC(2026, 9, day, hour, minute) / 1000;
    expect(there).toEqual([
      [at(23, 30, 24), at(0, 30)],
      [at(1, 0), at(1, 30)],
    ]);
  });

  test('spans leave no gap, do not overlap, and neighbours differ', () => {
    const hours = everyDay(
      [
        [0, 7, 'asleep'],
        [7, 9],
        [18, 23],
      ],
      { exceptions: { '2026-10-26': [] } },
    );
    const from = '2026-10-20T05:00:00+02:00';
    const to = '2026-11-03T05:00:00+01:00';
    const spans = presenceSpans(hours, from, to);
    expect(spans[0]!.fromS).toBe(toEpochS(from));
    expect(spans.at(-1)!.toS).toBe(toEpochS(to));
    spans.slice(1).forEach((span, i) => {
      expect(span.fromS).toBe(spans[i]!.toS);
      expect(span.kind).not.toBe(spans[i]!.kind);
    });
    // 14 days of 7 present hours, less the exception.
    expect(hoursOf(spans)).toBe(13 * 7);
  });
});

describe('moments', () => {
  const timeZone = 'Europe/Berlin';
  const reference = '2026-06-03T10:00:00+02:00'; // a Wednesday

  test.each([
    ['fri 18:00', '2026-06-05T18:00:00+02:00'],
    ['Friday 18:00', '2026-06-05T18:00:00+02:00'],
    ['wed 09:00', '2026-06-10T09:00:00+02:00'],
    ['wed 10:00', '2026-06-03T10:00:00+02:00'],
    ['today 9:00', '2026-06-03T09:00:00+02:00'],
    ['tomorrow 8:00', '2026-06-04T08:00:00+02:00'],
    ['09:59', '2026-06-04T09:59:00+02:00'],
    ['sun 24:00', '2026-06-08T00:00:00+02:00'],
    ['2026-12-05 18:00', '2026-12-05T18:00:00+01:00'],
    ['2026-06-05', '2026-06-05T00:00:00+02:00'],
    ['2026-06-05T16:00:00Z', '2026-06-05T18:00:00+02:00'],
    ['2026-06-05T12:00:00-04:00', '2026-06-05T18:00:00+02:00'],
  ])('"%s" is %s', (text, instant) => {
    expect(parseMoment(text, { timeZone, reference })).toBe(instant);
  });

  test('a local time that occurs twice is its first occurrence', () => {
    expect(parseMoment('2026-10-25 02:30', { timeZone })).toBe('2026-10-25T02:30:00+02:00');
    expect(parseMoment('2026-11-01 01:30', { timeZone: 'America/New_York' })).toBe('2026-11-01T01:30:00-04:00');
  });

  test.each(['2026-03-29 02:30', '2026-02-30 10:00', 'someday 18:00', '25:00', '', '2026-06-05T25:00:00Z'])(
    '"%s" is refused with TIME_INVALID',
    (text) => {
      expect(() => parseMoment(text, { timeZone, reference })).toThrow(
        expect.objectContaining({ code: 'TIME_INVALID' }),
      );
    },
  );

  test('"fri 18:00" without a reference, and a zone that is none, are refused', () => {
    expect(() => parseMoment('fri 18:00', { timeZone })).toThrow(expect.objectContaining({ code: 'TIME_INVALID' }));
    expect(() => parseMoment('2026-06-05', { timeZone: 'Moon/Base' })).toThrow(
      expect.objectContaining({ code: 'TIME_INVALID' }),
    );
  });

  test('instants and seconds go forth and back', () => {
    for (const instant of ['2026-10-25T02:30:00+02:00', '2026-10-25T02:30:00+01:00', '2026-03-29T03:00:00+02:00']) {
      expect(toInstant(toEpochS(instant), timeZone)).toBe(instant);
    }
    expect(() => toEpochS('2026-06-05T18:00:00')).toThrow(expect.objectContaining({ code: 'TIME_INVALID' }));
  });
});
