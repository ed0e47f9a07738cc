import type { DaySpan, Hours, PresenceKind, Weekday } from '@stonehand/model';
import { loadWorkspace } from '@stonehand/shop';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

async function hoursOf(text: string): Promise<Hours> {
  return (await loadWorkspace(await folderWith({ ...SMALL, 'shop/hours.yaml': text }))).hours;
}

function says(spans: readonly DaySpan[] | undefined): string[] | undefined {
  return spans?.map((span) => `${span.fromMin / 60}-${span.toMin / 60} ${span.kind}`);
}

describe('hours', () => {
  test('a span past midnight is split, and the rest is on the next day', async () => {
    const { weekly } = await hoursOf('week:\n  mon: 18:00-22:30 present, 22:30-06:30 asleep\n');
    expect(says(weekly.mon)).toEqual(['18-22.5 present', '22.5-24 asleep']);
    expect(says(weekly.tue)).toEqual(['0-6.5 asleep']);
    expect(says(weekly.wed)).toEqual([]);
  });

  test('from Sunday it goes on into Monday', async () => {
    const { weekly } = await hoursOf('week:\n  sun: 22:00-07:00 asleep\n');
    expect(says(weekly.mon)).toEqual(['0-7 asleep']);
  });

  test("a day's own spans come before what runs over from the day before", async () => {
    const { weekly } = await hoursOf('week:\n  fri: 22:00-08:00 asleep\n  sat: 06:00-07:00 present\n');
    expect(says(weekly.sat)).toEqual(['0-6 asleep', '6-7 present', '7-8 asleep']);
  });

  test('days can be named one by one, in runs and over the end of the week', async () => {
    const { weekly } = await hoursOf('week:\n  sat-mon, wed: 10:00-12:00 present\n');
    const present = Object.entries(weekly).filter(([, spans]) => spans.length > 0);
    expect(present.map(([day]) => day).sort()).toEqual(['mon', 'sat', 'sun', 'wed']);
  });

  test('a date stands in for its weekday, and the night after it is its own', async () => {
    // 2026-06-05 is a Friday
    const { exceptions } = await hoursOf(
      'week:\n  mon-sun: 18:00-22:00 present, 22:00-06:00 asleep\ndates:\n  2026-06-05: 09:00-23:00 present, 23:00-09:00 asleep\n',
    );
    expect(Object.keys(exceptions)).toEqual(['2026-06-05', '2026-06-06']);
    expect(says(exceptions['2026-06-05'])).toEqual(['0-6 asleep', '9-23 present', '23-24 asleep']);
    expect(says(exceptions['2026-06-06'])).toEqual(['0-9 asleep', '18-22 present', '22-24 asleep']);
  });

  test('a journey is away from its first morning to its last night', async () => {
    const { exceptions } = await hoursOf(
      'week:\n  mon-sun: 18:00-22:00 present, 22:00-06:00 asleep\ndates:\n  2026-06-10 to 2026-06-12: away\n',
    );
    expect(says(exceptions['2026-06-10'])).toEqual(['0-24 away']);
    expect(says(exceptions['2026-06-12'])).toEqual(['0-24 away']);
    expect(says(exceptions['2026-06-13'])).toEqual(['18-22 present', '22-24 asleep']);
  });

  test('the times of work have defaults and can be stated', async () => {
    expect(await hoursOf('otherwise: asleep\n')).toMatchObject({
      otherwise: 'asleep',
      watchS: 480,
      startWorkS: 300,
      unloadWorkS: 300,
    });
    expect(await hoursOf('watch: 12 min\n')).toMatchObject({ otherwise: 'away', watchS: 720 });
  });

  test('every minute of any week is what was written for it (slow reference: minute by minute)', async () => {
    const days: readonly Weekday[] = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];
    const kind = fc.constantFrom<PresenceKind>('present', 'asleep', 'away');
    // Cut points of a day in half hours; alternate stretches become spans, the last may run past midnight.
    const day = fc.tuple(
      fc.uniqueArray(fc.integer({ min: 0, max: 47 }), { minLength: 0, maxLength: 5 }),
      fc.array(kind, { minLength: 3, maxLength: 3 }),
      fc.integer({ min: 0, max: 12 }),
    );
    const written = fc.array(day, { minLength: 7, maxLength: 7 });
    await fc.assert(
      fc.asyncProperty(written, async (week) => {
        const spans = week.map(([cuts, kinds, over]) => {
          const sorted = cuts.toSorted((a, b) => a - b);
          return sorted.slice(0, -1).flatMap((from, i) => {
            if (i % 2 === 1) return [];
            const to = i + 2 === sorted.length ? 48 + over : sorted[i + 1]!;
            return [{ from, to, kind: kinds[i / 2]! }];
          });
        });
        const clock = (halfHours: number): string =>
          `${String(Math.floor((halfHours % 48) / 2)).padStart(2, '0')}:${halfHours % 2 === 0 ? '00' : '30'}`;
        // A span to exactly midnight is written 24:00; one that ends where it began would be empty.
        const usable = spans.map((list) => list.filter((span) => span.to - span.from < 48));
        const lines = days.map(
          (name, i) =>
            `  ${name}: [${usable[i]!.map((s) => `"${clock(s.from)}-${s.to === 48 ? '24:00' : clock(s.to)} ${s.kind}"`).join(', ')}]`,
        );
        const hours = await hoursOf(`week:\n${lines.join('\n')}\n`);
        days.forEach((name, i) => {
          for (let half = 0; half < 48; half++) {
            const own = usable[i]!.find((s) => s.from <= half && half < s.to);
            const before = usable[(i + 6) % 7]!.find((s) => s.from <= half + 48 && half + 48 < s.to);
            const got = hours.weekly[name].find((s) => s.fromMin <= half * 30 && half * 30 < s.toMin);
            expect(got?.kind, `${name} ${clock(half)}`).toBe((own ?? before)?.kind);
          }
          for (const span of hours.weekly[name]) expect(span.toMin).toBeLessThanOrEqual(1440);
        });
      }),
      { seed: 4, numRuns: 25 },
    );
  });
});
