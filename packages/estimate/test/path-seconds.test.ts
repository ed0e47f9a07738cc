import { flowSpeedMmS, moveSeconds, pathSeconds } from '@stonehand/estimate';
import { beadAreaMm2 } from '@stonehand/slice';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

/** δ = 0.05 mm at 1000 mm/s² means this speed through a right angle (references section 4). */
const CORNER = Math.sqrt((1000 * 0.05) / (Math.SQRT2 - 1));
const motion = (speedMmS: number, accelMmS2 = 1000, cornerSpeedMmS = CORNER) => ({
  speedMmS,
  accelMmS2,
  cornerSpeedMmS,
});
const open = (points: readonly (readonly [number, number])[], m = motion(100)): number =>
  pathSeconds(points.flat(), 0, points.length, false, m);

describe('one straight move (check values F8 and references section 4, examples 1 to 3)', () => {
  test.each([
    [100, 0, 0, 100, 1000, 1.1],
    [10, 0, 0, 100, 1000, 0.2],
    [5, 0, 0, 100, 1000, 0.1414214],
    [1, 0, 0, 300, 10000, 0.02],
    [200, 0, 0, 60, 500, 3.4533333],
    [200, 0, 0, 300, 10000, 0.6966667],
    [50, 20, 5, 150, 3000, 0.3754722],
    [4, 0, 0, 100, 1000, 0.1264911],
    [20, 20, 40, 100, 1000, 0.25],
  ])('%f mm from %f to %f at %f mm/s and %f mm/s²: %f s', (d, v0, v1, v, a, t) => {
    expect(moveSeconds(d, v0, v1, v, a)).toBeCloseTo(t, 6);
  });
});

describe('paths with corners (references section 4, examples 4 to 8; check values F8)', () => {
  const square = (side: number) => [0, 0, side, 0, side, side, 0, side];

  test('a square of 20 at 50 mm/s takes 1.7413216 s', () => {
    expect(pathSeconds(square(20), 0, 4, true, motion(50))).toBeCloseTo(1.7413216, 6);
  });

  test('a square of 50 with corners at 10 mm/s takes 2.1715 s', () => {
    expect(pathSeconds(square(50), 0, 4, true, motion(100, 2000, 10))).toBeCloseTo(2.1715, 4);
  });

  const polygon = (n: number): number[] =>
    Array.from({ length: n }, (_, i) => [
      10 * Math.cos((2 * Math.PI * i) / n),
      10 * Math.sin((2 * Math.PI * i) / n),
    ]).flat();

  test.each([
    [8, 1.2264072],
    [64, 1.1067771],
  ])('a circle of %i sides takes %f s at 60 mm/s', (n, seconds) => {
    expect(pathSeconds(polygon(n), 0, n, true, motion(60))).toBeCloseTo(seconds, 6);
  });

  test('a finer circle is not slower: it tends to 1.1071976 s', () => {
    expect(pathSeconds(polygon(4096), 0, 4096, true, motion(60))).toBeCloseTo(1.1071976, 5);
  });

  test('fifty passes of 40 mm joined by links of 0.4 mm take 25.1419978 s', () => {
    const points: [number, number][] = [];
    for (let i = 0; i < 50; i++) points.push([i % 2 === 0 ? 0 : 40, 0.4 * i], [i % 2 === 0 ? 40 : 0, 0.4 * i]);
    expect(open(points)).toBeCloseTo(25.1419978, 5);
  });

  test('look-ahead slows a corner before a stop that is too near', () => {
    expect(
      open([
        [0, 0],
        [30, 0],
        [30, 0.5],
      ]),
    ).toBeCloseTo(0.4259735, 6);
    expect(
      open([
        [0, 0],
        [30, 0],
        [30, 0.03],
      ]),
    ).toBeCloseTo(0.4003, 4);
  });

  test('ten straight pieces are one, also with points that repeat', () => {
    const points = Array.from({ length: 11 }, (_, i): [number, number] => [i, 0]);
    expect(open(points)).toBeCloseTo(0.2, 9);
    expect(open([...points, [10, 0]])).toBeCloseTo(0.2, 9);
  });

  test.each([
    [0.013, 1000, 90, 5.6022],
    [0.013, 1000, 120, 9.167],
    [0.013, 1000, 150, 19.1969],
    [0.013, 3000, 90, 9.7033],
    [0.05, 1000, 90, 10.9868],
  ])('deviation %f at %f mm/s², %f°: %f mm/s', (deviation, accel, degrees, speed) => {
    // The corner speed shows in the time of two long legs: each loses (v − v_corner)²/(2·a·v) against passing straight on.
    const right = Math.sqrt((accel * deviation) / (Math.SQRT2 - 1));
    const turn = Math.PI - (degrees * Math.PI) / 180;
    const legs = open(
      [
        [0, 0],
        [50, 0],
        [50 + 50 * Math.cos(turn), 50 * Math.sin(turn)],
      ],
      motion(60, accel, right),
    );
    const straight = moveSeconds(100, 0, 0, 60, accel);
    expect(60 - Math.sqrt((legs - straight) * accel * 60)).toBeCloseTo(speed, 3);
  });
});

test('flow limits the speed: 12 mm³/s at 0.45 × 0.2 is 147.391 mm/s (references section 4, example 9)', () => {
  expect(flowSpeedMmS(12, beadAreaMm2(0.45, 0.2))).toBeCloseTo(147.391, 3);
  expect(flowSpeedMmS(2.5, beadAreaMm2(0.45, 0.2))).toBeCloseTo(30.71, 2);
});

describe('properties of any path', () => {
  const point = fc.tuple(fc.integer({ min: -500, max: 500 }), fc.integer({ min: -500, max: 500 }));
  const path = fc
    .array(point, { minLength: 2, maxLength: 40 })
    .map((points) => points.map(([x, y]) => [x / 10, y / 10] as const));
  const limits = fc.record({
    speedMmS: fc.integer({ min: 10, max: 300 }),
    accelMmS2: fc.integer({ min: 300, max: 20000 }),
    cornerSpeedMmS: fc.integer({ min: 1, max: 15 }),
  });

  test('between length over speed and stopping at every corner', () => {
    fc.assert(
      fc.property(path, limits, (points, m) => {
        const seconds = open(points, m);
        let least = 0;
        let most = 0;
        for (let i = 1; i < points.length; i++) {
          const d = Math.hypot(points[i][0] - points[i - 1][0], points[i][1] - points[i - 1][1]);
          least += d / m.speedMmS;
          most += moveSeconds(d, 0, 0, m.speedMmS, m.accelMmS2);
        }
        expect(seconds).toBeGreaterThanOrEqual(least * (1 - 1e-9));
        expect(seconds).toBeLessThanOrEqual(most * (1 + 1e-9));
      }),
      { seed: 3 },
    );
  });

  test('the way back takes as long', () => {
    fc.assert(
      fc.property(path, limits, (points, m) => {
        const there = open(points, m);
        expect(open(points.slice().reverse(), m)).toBeCloseTo(there, 9);
      }),
      { seed: 4 },
    );
  });
});
