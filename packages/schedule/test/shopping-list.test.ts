import { type FilamentNeed, shoppingList, skewed } from '@stonehand/schedule';
import { describe, expect, test } from 'vitest';
import { plainMaterial } from '../../../tests/arbitraries/shops.ts';

const need = (id: string, g: number, about: Partial<FilamentNeed> = {}): FilamentNeed => ({
  id,
  materialId: 'white',
  massG: { value: g, from: 'test' },
  durationS: 36_000,
  failPerStart: 0,
  failPerHour: 0,
  ...about,
});
const white = plainMaterial('white', { spoolG: 1000, pricePerKg: 25 });
const shelf = (...grams: number[]) =>
  grams.map((g, i) => ({ id: `W${i}`, materialId: 'white', netG: g, lowG: g, highG: g, from: 'weighed' }));

describe('what to buy', () => {
  test('without failures and with certain masses: grams and purge, to the gram', () => {
    const [buy] = shoppingList({
      needs: [need('a', 400, { supportG: 50 }), need('b', 300)],
      spools: shelf(415),
      materials: [white],
    });
    expect(buy).toMatchObject({
      materialId: 'white',
      netG: 650,
      supportG: 50,
      purgeG: 6,
      failuresG: 0,
      shelfG: 400,
      spools: 1,
      price: 25,
    });
    expect(buy!.needG).toMatchObject({ value: 706, low: 706, high: 706 });
    // a needs 403 and does not fit on the 400 of the shelf, b does: 97 g of it are stranded.
    expect(buy!.strandedG).toBeCloseTo(97, 9);
  });

  test('nothing is bought when the shelf holds enough in fitting spools', () => {
    expect(
      shoppingList({ needs: [need('a', 400), need('b', 300)], spools: shelf(420, 320), materials: [white] })[0],
    ).toMatchObject({ spools: 0, price: 0, strandedG: 0 });
  });

  test('grams enough but on spools too small for the plate: one is bought all the same', () => {
    expect(shoppingList({ needs: [need('a', 400)], spools: shelf(300, 300), materials: [white] })[0]!.spools).toBe(1);
  });

  // Closed form: with a constant rate λ a run of d hours succeeds with q = exp(−λd); until then it fails 1/q − 1 times, and each failure
  // wastes the mass times E[T | T < d]/d, E[T | T < d] = 1/λ − d(1 − p)/p with p = 1 − q. Start failures: p0/(1 − p0) times the watched share.
  test('expected failures agree with the closed form within four standard errors', () => {
    const rate = 0.02;
    const hours = 10;
    const p = 1 - Math.exp(-rate * hours);
    const wasteG = 500 * ((1 / rate - (hours * (1 - p)) / p) / hours);
    const expected = (1 / (1 - p) - 1) * (wasteG + 3);
    const samples = 20_000;
    const [buy] = shoppingList({
      needs: [need('a', 500, { failPerHour: rate })],
      spools: [],
      materials: [white],
      samples,
    });
    // The number of failures is geometric with variance p/(1 − p)²; each wastes at most 503 g.
    const standardError = (503 * Math.sqrt(p / (1 - p) ** 2)) / Math.sqrt(samples);
    expect(Math.abs(buy!.failuresG! - expected)).toBeLessThan(4 * standardError);
    const starts = shoppingList({
      needs: [need('a', 500, { failPerStart: 0.2 })],
      spools: [],
      materials: [white],
      samples,
      watchS: 3600,
    })[0]!;
    const perFailure = 500 * 0.1 + 3;
    expect(Math.abs(starts.failuresG! - 0.25 * perFailure)).toBeLessThan(
      (4 * perFailure * Math.sqrt(0.2 / 0.64)) / Math.sqrt(samples),
    );
  });

  test('the 90 % level of one plate is the upper end of its interval', () => {
    const massG = { value: 100, low: 80, high: 140, from: 'test' };
    const [buy] = shoppingList({
      needs: [need('a', 100, { massG })],
      spools: [],
      materials: [white],
      samples: 20_000,
      purgeG: 0,
    });
    // The quantile of n samples has a standard error of √(q(1−q)/n)/density; at 90 % of this lognormal (σ = ln 1.4 / 1.28) that is 0.4 g.
    expect(Math.abs(buy!.needG.high! - 140)).toBeLessThan(1.6);
    expect(Math.abs(buy!.needG.low! - 80)).toBeLessThan(1.6);
  });

  test('a material that is not in the shop is refused', () => {
    expect(() => shoppingList({ needs: [need('a', 1)], spools: [], materials: [] })).toThrow(
      expect.objectContaining({ code: 'DATA_UNKNOWN' }),
    );
  });
});

test('a skewed figure has its value as median and meets both ends', () => {
  const figure = { value: 10, low: 8.5, high: 13, level: 0.8, from: 'test' };
  expect(skewed(figure, 0)).toBe(10);
  expect(skewed(figure, 1.2815516)).toBeCloseTo(13, 9);
  expect(skewed(figure, -1.2815516)).toBeCloseTo(8.5, 9);
});
