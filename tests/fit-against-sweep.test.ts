import { seededRandom } from '@stonehand/base';
import { fitHull, hull2 } from '@stonehand/orient';
import { expect, test } from 'vitest';
import { fitsAtTurn, STEP_DEG, sweepRectangle } from './oracles/fit-sweep.ts';

type Point = readonly [number, number];

function rectangle(wide: number, deep: number): Point[] {
  return [
    [0, 0],
    [wide, 0],
    [wide, deep],
    [0, deep],
  ];
}

function randomConvex(random: { next(): number }, count: number, size: number): Point[] {
  const squeeze = 0.1 + 0.9 * random.next();
  const turn = random.next() * Math.PI;
  const xy: number[] = [];
  for (let i = 0; i < count; i++) {
    const rad = random.next() * 2 * Math.PI;
    const x = size * Math.cos(rad);
    const y = size * squeeze * Math.sin(rad);
    xy.push(Math.cos(turn) * x - Math.sin(turn) * y, Math.sin(turn) * x + Math.cos(turn) * y);
  }
  const hull = hull2(xy);
  return Array.from({ length: hull.length / 2 }, (_, i) => [hull[2 * i]!, hull[2 * i + 1]!] as const);
}

test('2000 random convex outlines on rectangular beds agree with a sweep in steps of 0.01°', () => {
  const random = seededRandom(11);
  let fitting = 0;
  for (let round = 0; round < 2000; round++) {
    const wide = 150 + 200 * random.next();
    const deep = 150 + 200 * random.next();
    const outline = randomConvex(random, 3 + random.below(8), 100 + 130 * random.next());
    const sweep = sweepRectangle(outline, wide, deep);
    const ours = fitHull(outline.flat(), rectangle(wide, deep));
    const about = `round ${round}`;
    if (sweep.leastOverMm <= 0) expect(ours.fits, about).toBe(true);
    if (sweep.leastOverMm > sweep.missedMm + 1e-6) expect(ours.fits, about).toBe(false);
    if (sweep.nearestDeg !== undefined) {
      expect(Math.abs(ours.turnDeg), about).toBeLessThanOrEqual(Math.abs(sweep.nearestDeg) + 1e-9);
      // A fitting turn much nearer than the sweep's would have to lie in a gap narrower than a step.
      const beside = sweepRectangle(turned(outline, ours.turnDeg), wide, deep);
      expect(beside.nearestDeg === 0 || beside.leastOverMm <= STEP_DEG, about).toBe(true);
    }
    expect(ours.scaleThatFits, about).toBeGreaterThanOrEqual(sweep.bestScale * (1 - 1e-12));
    // Between two tries an extent is at most missedMm smaller, so 1/scale at most missedMm/side smaller.
    const largest = 1 / (1 / sweep.bestScale - sweep.missedMm / Math.min(wide, deep));
    expect(ours.scaleThatFits, about).toBeLessThanOrEqual(largest * (1 + 1e-12));
    if (ours.fits) fitting++;
  }
  expect(fitting).toBeGreaterThan(400);
  expect(fitting).toBeLessThan(1600);
});

test('random convex outlines on random convex plates agree with a sweep of cut half-planes', () => {
  const random = seededRandom(12);
  let fitting = 0;
  let sure = 0;
  for (let round = 0; round < 150; round++) {
    const plate = randomConvex(random, 6 + random.below(6), 120);
    const outline = randomConvex(random, 3 + random.below(6), 50 + 60 * random.next());
    const ours = fitHull(outline.flat(), plate);
    const at = (scale: number, deg: number): boolean =>
      fitsAtTurn(
        outline.map(([x, y]) => [scale * x, scale * y] as const),
        plate,
        deg,
      );
    if (ours.fits) {
      fitting++;
      // Slightly smaller it certainly fits at the turn given.
      expect(at(1 - 1e-6, ours.turnDeg), `round ${round}`).toBe(true);
    }
    for (let deg = -180; deg < 180; deg += 0.5) {
      if (!at(1, deg)) continue;
      expect(ours.fits, `round ${round} at ${deg}°`).toBe(true);
      expect(Math.abs(ours.turnDeg), `round ${round}`).toBeLessThanOrEqual(Math.abs(deg) + 1e-7);
      sure++;
      break;
    }
    expect(ours.scaleThatFits).toBeGreaterThan(0);
    for (let deg = -180; deg < 180; deg += 2) {
      expect(at(ours.scaleThatFits * (1 + 3e-6), deg), `round ${round}: larger at ${deg}°`).toBe(false);
    }
  }
  expect(fitting).toBeGreaterThan(30);
  expect(fitting).toBeLessThan(120);
  expect(sure).toBeGreaterThan(25);
});

function turned(outline: readonly Point[], deg: number): Point[] {
  const c = Math.cos((deg * Math.PI) / 180);
  const s = Math.sin((deg * Math.PI) / 180);
  return outline.map(([x, y]) => [c * x - s * y, s * x + c * y] as const);
}
