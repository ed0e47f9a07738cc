import { formatDuration, StonehandError } from '@stonehand/base';
import { type Bed, defaultShop, formatBed, loadWorkspace, parseBed, parseDurationS, parseShare } from '@stonehand/shop';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

describe('beds', () => {
  test.each([
    ['220x220x250', { shape: 'rectangle', widthMm: 220, depthMm: 220, heightMm: 250 }],
    ['220 × 220 × 250 mm', { shape: 'rectangle', widthMm: 220, depthMm: 220, heightMm: 250 }],
    ['1 ft x 25 cm X 300', { shape: 'rectangle', widthMm: 304.8, depthMm: 250, heightMm: 300 }],
    ['round:250x300', { shape: 'round', diameterMm: 250, heightMm: 300 }],
    ['Round 250 x 300', { shape: 'round', diameterMm: 250, heightMm: 300 }],
  ])('%s', (text, bed) => {
    expect(parseBed(text)).toEqual(bed);
  });

  test.each([
    '',
    '220',
    '220x220',
    'round:250',
    'round:250x300x3',
    '0x220x250',
    '-1x220x250',
    '220x220x1e9',
    '220x220xhigh',
    '220xx250',
  ])('%j is refused with what to write', (text) => {
    expect(() => parseBed(text)).toThrow(
      expect.objectContaining({ code: 'USAGE', remedy: expect.stringContaining('220x220x250') }),
    );
  });

  test('what is formatted is read back', () => {
    const size = fc.integer({ min: 1, max: 50_000 }).map((tenths) => tenths / 10);
    const bed: fc.Arbitrary<Bed> = fc.oneof(
      fc.record({ shape: fc.constant('rectangle' as const), widthMm: size, depthMm: size, heightMm: size }),
      fc.record({ shape: fc.constant('round' as const), diameterMm: size, heightMm: size }),
    );
    fc.assert(
      fc.property(bed, (b) => {
        expect(parseBed(formatBed(b))).toEqual(b);
      }),
      { seed: 1 },
    );
  });
});

describe('usable plates', () => {
  test('a rectangle shrinks by its margin on every side', () => {
    const [printer] = defaultShop('220x200x250').printers;
    expect(printer!.usable).toEqual([
      [5, 5],
      [215, 5],
      [215, 195],
      [5, 195],
    ]);
    expect(printer!.plate).toEqual([
      [0, 0],
      [220, 0],
      [220, 200],
      [0, 200],
    ]);
  });

  test('a round plate is never larger than the circle less its margin, and at most a thousandth smaller', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 1000 }), (diameter) => {
        const [printer] = defaultShop(`round:${diameter}x300`).printers;
        const [centre, radius] = [diameter / 2, diameter / 2 - 5];
        const ring = printer!.usable;
        ring.forEach(([x, y], i) => {
          expect(Math.hypot(x - centre, y - centre)).toBeLessThanOrEqual(radius);
          // The middle of a side is the nearest the polygon comes to the centre.
          const [nextX, nextY] = ring[(i + 1) % ring.length]!;
          const inner = Math.hypot((x + nextX) / 2 - centre, (y + nextY) / 2 - centre);
          expect(inner).toBeGreaterThan(radius * 0.999);
        });
        const twiceArea = ring.reduce(
          (sum, [x, y], i) => sum + x * ring[(i + 1) % ring.length]![1] - ring[(i + 1) % ring.length]![0] * y,
          0,
        );
        expect(twiceArea, 'counter-clockwise').toBeGreaterThan(0);
      }),
      { seed: 2, numRuns: 50 },
    );
  });

  test('keep-out areas run counter-clockwise whichever way they were written', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/printers.yaml':
        'bench:\n  volume: 220 x 220 x 250\n  keepOut:\n    - { from: [30, 12], to: [0, 0] }\n    - { ring: [[0, 0], [0, 10], [10, 0]] }\n',
    });
    const [printer] = (await loadWorkspace(root)).printers;
    expect(printer!.keepOut).toEqual([
      [
        [0, 0],
        [30, 0],
        [30, 12],
        [0, 12],
      ],
      [
        [10, 0],
        [0, 10],
        [0, 0],
      ],
    ]);
  });
});

describe('durations', () => {
  test.each([
    ['45 s', 45],
    ['12 min', 720],
    ['20 h', 72_000],
    ['9 h 30', 34_200],
    ['9 h 05', 32_700],
    ['2 d 4 h', 187_200],
    ['1.5h', 5400],
    ['1 h 20 min 5 s', 4805],
    [0, 0],
  ])('%s is %d s', (text, seconds) => {
    expect(parseDurationS(text)).toBe(seconds);
  });

  test.each([
    '',
    '12',
    12,
    '9 30',
    '9 h 75',
    '30 min 2 h',
    '5 weeks',
    '-3 min',
    '2 h 2 h',
    'soon',
    '9 h 30 s 4',
    'constructor',
  ])('%j is refused', (text) => {
    expect(() => parseDurationS(text)).toThrow(StonehandError);
  });

  test('whatever is shown to people can be typed back', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 40 * 86_400 }), (seconds) => {
        // The text rounds to whole minutes, and above two days once more to whole hours.
        const rounding = seconds < 60 ? 0 : seconds < 48 * 3600 - 30 ? 30 : 1800 + 30;
        expect(Math.abs(parseDurationS(formatDuration(seconds)) - seconds)).toBeLessThanOrEqual(rounding);
      }),
      { seed: 3, numRuns: 500 },
    );
  });
});

describe('shares', () => {
  test.each([
    ['15 %', 0.15],
    ['0.5%', 0.005],
    [0.15, 0.15],
    ['1', 1],
  ])('%s', (text, share) => {
    expect(parseShare(text)).toBeCloseTo(share, 15);
  });
  test.each([15, '101 %', '-1 %', 'half', '', Number.NaN])('%j is refused', (text) => {
    expect(() => parseShare(text)).toThrow(StonehandError);
  });
});
