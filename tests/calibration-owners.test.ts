import { seededRandom } from '@stonehand/base';
import { calibrate, factorOf, MASS_PRIOR, type Prior, TIME_PRIOR } from '@stonehand/estimate';
import { describe, expect, test } from 'vitest';
import { type OwnerSpec, ownerOf } from './arbitraries/owners.ts';

const OWNERS = 500;
const TIME: OwnerSpec = {
  middle: 1.08,
  common: 0.12,
  group: 0.12,
  support: 0.15,
  noise: 0.1,
  outliers: 0.03,
  rest: 0.2,
};
const MASS: OwnerSpec = { ...TIME, middle: 1, common: 0.05, group: 0.06, support: 0.25, rest: 0 };

type Seen = Readonly<{ held: number; widthShare: number; errorShare: number; errorBefore: number }>;

/** Every owner records some prints; then the interval for the next one is compared with what that one really gave, noise and outliers included. */
function simulate(spec: OwnerSpec, prior: Prior, { records = 8, seed = 1, owners = OWNERS } = {}): Seen {
  const random = seededRandom(seed);
  let held = 0;
  let width = 0;
  const errors: number[] = [];
  const before: number[] = [];
  for (let k = 0; k < owners; k++) {
    const print = ownerOf(spec, random);
    const recorded = Array.from({ length: records }, print);
    const next = print();
    const { value, low, high } = factorOf(calibrate(recorded, prior), next.shares);
    if (next.ratio >= low && next.ratio <= high) held++;
    width += high - low;
    errors.push(Math.abs(value / next.truth - 1));
    before.push(Math.abs(1 / next.truth - 1));
  }
  return { held: held / owners, widthShare: width / owners, errorShare: median(errors), errorBefore: median(before) };
}

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;
const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

// Walls, fill and support of an owner are off by factors of their own, multiplied with 10 % noise; 3 % of the prints are outliers.
// The model assumes additive normal terms, so it is not the truth that is simulated.
describe('500 simulated owners with 8 recorded prints: the 80 % interval holds their next print in 75 to 85 % of the cases', () => {
  test.each([
    ['seconds', TIME, TIME_PRIOR, 1],
    ['seconds, other owners', TIME, TIME_PRIOR, 2],
    ['seconds, owners twice as unlike', { ...TIME, common: 0.24, group: 0.2 }, TIME_PRIOR, 3],
    ['grams', MASS, MASS_PRIOR, 4],
    ['grams, other owners', MASS, MASS_PRIOR, 5],
  ] as const)('%s', (what, spec, prior, seed) => {
    const { held, widthShare, errorShare, errorBefore } = simulate(spec, prior, { seed });
    console.info(
      `${what}: holds ${percent(held)}, width ${percent(widthShare)}, median error ${percent(errorShare)} (uncorrected ${percent(errorBefore)})`,
    );
    expect(held).toBeGreaterThanOrEqual(0.75);
    expect(held).toBeLessThanOrEqual(0.85);
    expect(errorShare).toBeLessThan(0.75 * errorBefore);
  });

  test('intervals narrow as the record of a careful owner grows', () => {
    const careful = { ...TIME, noise: 0.03 };
    const widths = [1, 4, 16].map((records) => simulate(careful, TIME_PRIOR, { records, owners: 60 }).widthShare);
    expect(widths[1]).toBeLessThan(0.8 * widths[0]!);
    expect(widths[2]).toBeLessThan(0.8 * widths[1]!);
  });
});

describe('one odd print does not swing it', () => {
  const shares = { walls: 0.4, fill: 0.3, support: 0.1 };
  const usual = [1.04, 1.02, 1.05, 1.03, 1.06].map((ratio) => ({ ratio, shares }));
  const factor = (ratios: typeof usual): number => factorOf(calibrate(ratios, TIME_PRIOR), shares).value;

  test('a print that took twice as long moves the factor by less than 2 %', () => {
    expect(Math.abs(factor([...usual, { ratio: 2.1, shares }]) / factor(usual) - 1)).toBeLessThan(0.02);
  });

  test('a single print is believed in part only', () => {
    const one = factor([{ ratio: 1.4, shares }]);
    expect(one).toBeGreaterThan(TIME_PRIOR.middle);
    expect(one).toBeLessThan(1.4);
  });

  test('the order of the record does not matter', () => {
    expect(factor(usual.slice().reverse())).toBeCloseTo(factor(usual), 12);
  });
});

test('wall-heavy, infill-heavy and support-heavy prints separate the errors of walls, fill and support', () => {
  const truth = { walls: 1.1, fill: 0.95, support: 1.3 };
  const prints = [
    { walls: 0.95, fill: 0.03, support: 0.02 },
    { walls: 0.1, fill: 0.88, support: 0.02 },
    { walls: 0.2, fill: 0.25, support: 0.55 },
  ];
  const recorded = [...prints, ...prints].map((shares) => ({
    shares,
    ratio: shares.walls * truth.walls + shares.fill * truth.fill + shares.support * truth.support,
  }));
  const learnt = calibrate(recorded, MASS_PRIOR);
  const of = (shares: (typeof prints)[number]): number => factorOf(learnt, shares).value;
  // Pulled towards the prior, so not all the way: each error is found to more than half.
  expect(of({ walls: 1, fill: 0, support: 0 })).toBeGreaterThan(1.05);
  expect(of({ walls: 0, fill: 1, support: 0 })).toBeLessThan(0.975);
  expect(of({ walls: 0, fill: 0, support: 1 })).toBeGreaterThan(1.15);
});

test('without a record the interval of the seconds is the stated prior, −15/+30 %, within a point', () => {
  const { low, high } = factorOf(calibrate([], TIME_PRIOR), { walls: 0.35, fill: 0.35, support: 0.05 });
  expect(Math.abs(low - 0.85)).toBeLessThan(0.01);
  expect(Math.abs(high - 1.3)).toBeLessThan(0.01);
});

test('a forecast counts less than a weighed print', () => {
  const shares = { walls: 0.5, fill: 0.4, support: 0.1 };
  const weighed = factorOf(calibrate([{ ratio: 1.06, shares }], MASS_PRIOR), shares).value;
  const forecast = factorOf(calibrate([{ ratio: 1.06, shares, spread: 0.04 }], MASS_PRIOR), shares).value;
  expect(forecast).toBeGreaterThan(1);
  expect(forecast).toBeLessThan(weighed);
});
