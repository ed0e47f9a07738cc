import {
  type OnTimeInput,
  onTimeChance,
  type ScheduleInput,
  scheduleRuns,
  toEpochS,
  toInstant,
} from '@stonehand/schedule';
import { describe, expect, test } from 'vitest';
import { everyDay, plainMaterial, timePlate, timePrinter } from '../../../tests/arbitraries/shops.ts';

const always = everyDay([[0, 24]]);
const from = '2026-06-05T18:00:00+02:00';

function twoRuns(about: Partial<ScheduleInput> = {}): ScheduleInput {
  return {
    plates: ['a', 'b'].map((id) => ({ plate: timePlate(id, { printerId: 'loft', hours: 5 }) })),
    printers: [timePrinter('loft')],
    materials: [plainMaterial('white')],
    hours: always,
    from,
    ...about,
  };
}

function chanceOf(input: ScheduleInput, about: Partial<OnTimeInput>): ReturnType<typeof onTimeChance> {
  const { runs } = scheduleRuns(input);
  return onTimeChance({
    runs,
    durationS: {},
    printers: input.printers,
    hours: input.hours,
    from,
    samples: 20_000,
    ...about,
  });
}

const SE = (p: number, n = 20_000): number => Math.sqrt((p * (1 - p)) / n);

/** Normal distribution, Abramowitz & Stegun 26.2.17 (error below 7.5e-8). */
function normalCdf(x: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const tail =
    (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return x >= 0 ? 1 - tail : tail;
}

describe('two runs on one printer, somebody always there', () => {
  test('certain times and no failures: in time or not, without doubt', () => {
    const { finish } = scheduleRuns(twoRuns());
    const onTime = chanceOf(twoRuns(), { deadline: finish! });
    expect(onTime).toMatchObject({ chance: 1, failures: 0, finish: { at50: finish, at80: finish, at95: finish } });
    expect(chanceOf(twoRuns(), { deadline: toInstant(toEpochS(finish!) - 1, 'Europe/Berlin') }).chance).toBe(0);
  });

  // A deadline that only holds when nothing fails: chance = (1 − p)² exp(−λ·2·5 h).
  test('the chance that nothing fails is the closed form', () => {
    const printers = [timePrinter('loft', { failPerStart: 0.03, failPerHour: 0.005 })];
    const { finish } = scheduleRuns(twoRuns({ printers }));
    const expected = 0.97 ** 2 * Math.exp(-0.005 * 10);
    const { chance } = chanceOf(twoRuns({ printers }), { deadline: finish! });
    expect(Math.abs(chance! - expected)).toBeLessThan(4 * SE(expected));
  });

  // Times that are off together: the sum is lognormal, P(sum ≤ D) = Φ(ln(D/10 h)/σ), σ = ln 1.3/1.2816.
  test('times that are off by the same factor: the closed form of their sum', () => {
    const input = twoRuns();
    const durationS = Object.fromEntries(
      ['a', 'b'].map((id) => [id, { value: 18_000, low: 18_000 / 1.3, high: 18_000 * 1.3, level: 0.8, from: 'test' }]),
    );
    const workS = 600 + 300 + 600;
    const deadline = toInstant(toEpochS(from) + workS + 12 * 3600, 'Europe/Berlin');
    const expected = normalCdf(Math.log(1.2) / (Math.log(1.3) / 1.2815516));
    const { chance, finish } = chanceOf(input, { durationS, deadline, commonShare: 1 });
    expect(Math.abs(chance! - expected)).toBeLessThan(4 * SE(expected));
    // The median of the sum is the sum of the medians; its standard error is √(π/2)·σ·10 h/√n, 93 s.
    expect(Math.abs(toEpochS(finish.at50!) - (toEpochS(from) + workS + 36_000))).toBeLessThan(4 * 93);
  });

  test('errors that are shared widen the sum: less sure beyond the median', () => {
    const durationS = Object.fromEntries(
      ['a', 'b'].map((id) => [id, { value: 18_000, low: 18_000 / 1.3, high: 18_000 * 1.3, from: 'test' }]),
    );
    const deadline = toInstant(toEpochS(from) + 1500 + 12 * 3600, 'Europe/Berlin');
    const own = chanceOf(twoRuns(), { durationS, deadline, commonShare: 0 }).chance!;
    const shared = chanceOf(twoRuns(), { durationS, deadline, commonShare: 1 }).chance!;
    expect(own - shared).toBeGreaterThan(8 * SE(0.8));
  });
});

describe('failures', () => {
  // A run from 22:00 to 8:00 over a night asleep, sure to fail soon, is found at 8:00 and started again then.
  test('a failure at night is found in the morning', () => {
    const hours = everyDay([
      [0, 8, 'asleep'],
      [8, 22.5],
      [22.5, 24, 'asleep'],
    ]);
    const input = twoRuns({
      hours,
      from: '2026-06-05T22:00:00+02:00',
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 9.5 }) }],
    });
    const { runs } = scheduleRuns(input);
    const printers = [timePrinter('loft', { failPerHour: 0.3 })];
    const { finish } = onTimeChance({ runs, durationS: {}, printers, hours, from: input.from, samples: 4000 });
    // Half of the samples and more fail in the first night, and no second try can begin before 8:15 and end before 17:45.
    expect(Date.parse(finish.at80!)).toBeGreaterThanOrEqual(Date.parse('2026-06-06T17:45:00+02:00'));
    // P(no failure) = exp(−0.3·9.5) = 5.8 %: the median needs a second try at least.
    expect(Date.parse(finish.at50!)).toBeGreaterThanOrEqual(Date.parse('2026-06-06T17:45:00+02:00'));
  });

  // Each try succeeds with q = 1 − p, so there are p/q failures a run.
  test('the number of failed starts is that of a geometric distribution', () => {
    const printers = [timePrinter('loft', { failPerStart: 0.2 })];
    const { failures } = chanceOf(twoRuns({ printers }), {});
    // Two runs: mean 2·0.25, variance 2·p/q².
    expect(Math.abs(failures - 0.5)).toBeLessThan(4 * Math.sqrt((2 * 0.2) / 0.64 / 20_000));
  });
});

test('the same seed gives the same answer, and nothing planned is in time for sure', () => {
  const input = twoRuns({ printers: [timePrinter('loft', { failPerHour: 0.05 })] });
  const deadline = '2026-06-06T12:00:00+02:00';
  expect(chanceOf(input, { deadline, samples: 500 })).toEqual(chanceOf(input, { deadline, samples: 500 }));
  expect(chanceOf(twoRuns({ plates: [] }), { deadline }).chance).toBe(1);
});

test('what follows a run counts for the chance, not for the finish', () => {
  const { finish, runs } = scheduleRuns(twoRuns());
  const tailS = { [runs[0]!.id]: 6 * 3600 };
  // Two runs of five hours: the tail of the first ends an hour (less the work between them) after the second.
  const after = toEpochS(runs[0]!.end) + 6 * 3600;
  const deadline = (s: number): string => toInstant(s, 'Europe/Berlin');
  expect(chanceOf(twoRuns(), { tailS, deadline: deadline(after), samples: 50 })).toMatchObject({
    chance: 1,
    finish: { at50: finish },
  });
  expect(chanceOf(twoRuns(), { tailS, deadline: deadline(after - 1), samples: 50 }).chance).toBe(0);
});
