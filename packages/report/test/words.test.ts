import { chanceWords, dayText, durationText, lengthText, massText, momentText, sizeText } from '@stonehand/report';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const figure = (value: number, low?: number, high?: number) =>
  low === undefined || high === undefined ? { value, from: 't' } : { value, low, high, from: 't' };

describe('masses', () => {
  test('an interval takes away the decimals it does not deserve', () => {
    expect(massText(figure(956.4, 918.2, 994.1))).toBe('960 g (920 to 990)');
    expect(massText(figure(212.3, 196.1, 231.2))).toBe('212 g (196 to 231)');
    expect(massText(figure(1213, 1104, 1338))).toBe('1.21 kg (1.10 to 1.34)');
    expect(massText(figure(900, 600, 1400))).toBe('900 g (600 to 1400)');
    expect(massText(figure(9.04, 8.3, 9.8))).toBe('9.0 g (8.3 to 9.8)');
  });

  test('a stated mass without an interval is shown as it is', () => {
    expect(massText(figure(1050))).toBe('1.05 kg');
    expect(massText(figure(11.8))).toBe('12 g');
    expect(massText(figure(1.8))).toBe('1.8 g');
  });

  test('ounces carry to pounds (453.59237 g, exact by definition)', () => {
    expect(massText(figure(453.5, 440, 470), 'US')).toBe('1 lb 0.0 oz (15.5 oz to 1 lb 0.6 oz)');
    expect(massText(figure(453.5, 360, 560), 'US')).toBe('1 lb 0 oz (13 oz to 1 lb 4 oz)');
  });

  test('the last digit shown of a middle value is worth a fiftieth of the interval at least', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 9000, noNaN: true }),
        fc.double({ min: 0.02, max: 0.5, noNaN: true }),
        (value, share) => {
          const text = massText(figure(value, value * (1 - share), value * (1 + share)));
          const [, number = '', unit] = /^([\d.]+) (k?g) \(/.exec(text)!;
          const unitG = unit === 'kg' ? 1000 : 1;
          const [whole = '', fraction = ''] = number.split('.');
          const zeros = /0*$/.exec(whole)![0].length;
          const lastDigitG = unitG * (fraction === '' ? 10 ** zeros : 10 ** -fraction.length);
          const widthG = 2 * share * value;
          expect(lastDigitG).toBeGreaterThanOrEqual((widthG / 50) * (1 - 1e-9));
          // and rounding stays small beside the interval
          expect(Math.abs(Number(number) * unitG - value)).toBeLessThanOrEqual(
            Math.max(widthG / 10, unitG === 1000 ? 5 : 0.5),
          );
        },
      ),
      { seed: 11 },
    );
  });
});

describe('durations', () => {
  test('long ones are told in quarters, halves or whole hours by how sure they are', () => {
    const h = 3600;
    expect(durationText(figure(9.4 * h, 8 * h, 12.2 * h))).toBe('9½ h (8 to 12)');
    expect(durationText(figure(2.2 * h, 2 * h, 2.6 * h))).toBe('2¼ h (2 to 2½)');
    expect(durationText(figure(30 * h, 25 * h, 39 * h))).toBe('30 h (25 to 39)');
    expect(durationText(figure(0.6 * h, 0.51 * h, 0.78 * h))).toBe('36 min (31 to 47)');
    expect(durationText(figure(45))).toBe('45 s');
  });

  test('rounding never turns the bounds around the middle', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 2e6, noNaN: true }), (s) => {
        const text = durationText(figure(s, s * 0.85, s * 1.3));
        const [middle, low, high] = [...text.matchAll(/(\d*)([¼½¾]?)(?= |\)|$)/g)]
          .filter((m) => m[0] !== '')
          .map((m) => Number(m[1] === '' ? 0 : m[1]) + ({ '¼': 0.25, '½': 0.5, '¾': 0.75 }[m[2]!] ?? 0));
        expect(low!).toBeLessThanOrEqual(middle!);
        expect(middle!).toBeLessThanOrEqual(high!);
      }),
      { seed: 12 },
    );
  });
});

test('lengths have a real minus sign and no minus zero', () => {
  expect(lengthText(figure(-6.2, -9.1, -1.8))).toBe('−6 mm (−9 to −2)');
  expect(lengthText(figure(-0.2, -3, 3))).toBe('0 mm (−3 to 3)');
  expect(sizeText([412.04, 268, 14.06])).toBe('412 × 268 × 14.1');
});

test('chances are fractions that people use, and never certain', () => {
  expect(chanceWords(0.8)).toBe('about 4 in 5');
  expect(chanceWords(0.5)).toBe('about 1 in 2');
  expect(chanceWords(0.31)).toBe('about 1 in 3');
  expect(chanceWords(1)).toBe('more than 19 in 20');
  expect(chanceWords(0)).toBe('less than 1 in 20');
});

describe('moments', () => {
  const clock = { planFrom: '2026-10-23T18:00:00+02:00', timeZone: 'Europe/Vienna' };

  test('are told in the plan’s zone, on both sides of the end of summer time (25 October 2026, 03:00 → 02:00)', () => {
    expect(momentText('2026-10-25T00:30:00Z', clock)).toBe('Sun 02:30');
    expect(momentText('2026-10-25T01:30:00Z', clock)).toBe('Sun 02:30');
    expect(momentText('2026-10-25T02:30:00Z', clock)).toBe('Sun 03:30');
  });

  test('get a date when a weekday alone could be another week’s', () => {
    expect(momentText('2026-10-30T18:00:00+01:00', clock)).toBe('Fri 30 Oct 18:00');
    expect(dayText('2026-10-30T18:00:00+01:00', clock)).toBe('Friday 30 October');
  });

  test('an unknown zone falls back to UTC instead of failing', () => {
    expect(momentText('2026-10-25T00:30:00Z', { ...clock, timeZone: 'Mars/Olympus' })).toBe('Sun 00:30');
  });
});
