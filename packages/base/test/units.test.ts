import {
  formatDuration,
  formatLength,
  formatMass,
  G_PER_OUNCE,
  parseLengthMm,
  parseMassG,
  StonehandError,
} from '@stonehand/base';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

describe('lengths and masses as people type them', () => {
  // Factors exact by definition: international yard and pound agreement, 1959.
  test.each([
    ['5/8 in', 15.875],
    ['1 1/4"', 31.75],
    ['12 mm', 12],
    ['1 ft 3 in', 381],
    ['2.5cm', 25],
    ['-0.5 in', -12.7],
    ['250', 250],
  ])('%s is %d mm', (text, mm) => {
    expect(parseLengthMm(text)).toBeCloseTo(mm, 10);
  });

  test.each([
    ['1 lb 3 1/4 oz', 453.59237 + 3.25 * 28.349523125],
    ['0.5 kg', 500],
    ['96', 96],
  ])('%s is %d g', (text, g) => {
    expect(parseMassG(text)).toBeCloseTo(g, 10);
  });

  test.each(['', 'five', '5 3 in', '5 furlong', '1/0 in', '3 oz 4', 'NaN'])('%j is refused', (text) => {
    expect(() => parseLengthMm(text)).toThrow(StonehandError);
    expect(() => parseMassG(text)).toThrow(StonehandError);
  });

  test('any sum of pounds and ounces comes back', () => {
    fc.assert(
      fc.property(fc.nat(200), fc.nat(15), fc.integer({ min: 1, max: 63 }), (lb, oz, sixtyFourths) => {
        const g = parseMassG(`${lb} lb ${oz} ${sixtyFourths}/64 oz`);
        expect(g / G_PER_OUNCE).toBeCloseTo(16 * lb + oz + sixtyFourths / 64, 8);
      }),
      { seed: 1 },
    );
  });
});

describe('figures as people read them', () => {
  // check table: 453.5 g must not print as "0 lb 16.0 oz"
  test.each([
    [453.5, '1 lb 0.0 oz'],
    [100, '3.5 oz'],
    [1000, '2 lb 3.3 oz'],
    [2500, '5 lb 8.2 oz'],
  ])('%d g is %s', (g, text) => {
    expect(formatMass(g, 'US')).toBe(text);
  });

  test('grams become kilograms only when they round to one', () => {
    expect(formatMass(999.4)).toBe('999 g');
    expect(formatMass(999.6)).toBe('1.00 kg');
    expect(formatMass(4.26)).toBe('4.3 g');
    expect(formatMass(9.97)).toBe('10 g');
  });

  test('a duration never shows sixty minutes', () => {
    expect(formatDuration(3599)).toBe('1 h 00');
    expect(formatDuration(9 * 3600 + 1799)).toBe('9 h 30');
    expect(formatDuration(59.6)).toBe('1 min');
    expect(formatDuration(50 * 3600)).toBe('2 d 2 h');
  });

  test('lengths keep a tenth below 100 mm', () => {
    expect(formatLength(99.96)).toBe('100 mm');
    expect(formatLength(12.34)).toBe('12.3 mm');
    expect(formatLength(220, 'US')).toBe('8.66 in');
  });
});
