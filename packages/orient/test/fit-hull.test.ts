import { StonehandError, seededRandom } from '@stonehand/base';
import { fitHull } from '@stonehand/orient';
import { describe, expect, test } from 'vitest';

type Point = readonly [number, number];

function rectangle(wide: number, deep: number): Point[] {
  return [
    [0, 0],
    [wide, 0],
    [wide, deep],
    [0, deep],
  ];
}

function regular(corners: number, radius: number, turnDeg = 0): Point[] {
  return Array.from({ length: corners }, (_, i) => {
    const rad = ((360 * i) / corners + turnDeg) * (Math.PI / 180);
    return [radius * Math.cos(rad), radius * Math.sin(rad)] as const;
  });
}

const fits = (part: readonly Point[], bed: readonly Point[], brimMm = 0): boolean =>
  fitHull(part.flat(), bed, { brimMm }).fits;

// Carver, Amer. Math. Monthly 64 (1957): p × q (p ≥ q) in a × b (a ≥ b) if and only if q ≤ b and (p ≤ a or …).
function carver(p: number, q: number, a: number, b: number): number {
  if (q > b) return b - q;
  if (p <= a) return a - p;
  return b * (p * p + q * q) - 2 * p * q * a - (p * p - q * q) * Math.sqrt(p * p + q * q - a * a);
}

test("10 000 random rectangles fit exactly when Carver's condition says so", () => {
  const random = seededRandom(5);
  let turned = 0;
  for (let round = 0; round < 10_000; round++) {
    const [b, a] = [100 + 300 * random.next(), 100 + 300 * random.next()].sort((x, y) => x - y) as [number, number];
    const p = a * (0.8 + 0.6 * random.next());
    const q = Math.min(p, b * 0.6 * random.next() ** 2);
    const margin = carver(p, q, a, b);
    // Within a nanometre of touching both answers are right.
    if (Math.abs(margin) < 1e-6 * p * p) continue;
    const ours = fitHull(rectangle(p, q).flat(), rectangle(a, b));
    expect(ours.fits, `${p} × ${q} in ${a} × ${b}`).toBe(margin > 0);
    if (ours.fits && ours.turnDeg !== 0) turned++;
  }
  expect(turned).toBeGreaterThan(1000);
});

describe('rectangles in print (sides and verdicts: Wetzel, Math. Mag. 73 (2000) 204–211, and Carver 1957)', () => {
  test.each([
    [300, 10, 220, 220, true],
    [302, 10, 220, 220, false],
    [300, 20, 256, 200, true],
    [310, 20, 256, 200, false],
    [330, 30, 300, 200, true],
    [340, 30, 300, 200, false],
    [9, 4, 8, 6, false],
    [240, 20, 220, 220, true],
    [291, 20, 220, 220, true],
    [292, 20, 220, 220, false],
    [300, 12, 220, 220, false],
    [10, 10, 8, 8, false],
  ])('%d × %d in %d × %d: %s', (p, q, a, b, expected) => {
    expect(fits(rectangle(p, q), rectangle(a, b))).toBe(expected);
    expect(fits(rectangle(q, p), rectangle(a, b))).toBe(expected);
    expect(fits(rectangle(p, q), rectangle(b, a))).toBe(expected);
  });

  // Longest p for width q, to the printed thousandth (Carver's condition solved for p).
  test.each([
    [220, 220, 10, 301.127],
    [220, 220, 60, 251.127],
    [220, 220, 100, 220],
    [250, 220, 20, 313.213],
    [250, 220, 60, 273.985],
    [256, 256, 100, 262.039],
    [350, 300, 40, 421.605],
    [400, 300, 10, 490.425],
    [400, 300, 100, 408.512],
  ])('%d × %d holds a width of %d up to %d mm', (a, b, q, longest) => {
    expect(fits(rectangle(longest - 0.001, q), rectangle(a, b))).toBe(true);
    expect(fits(rectangle(longest + 0.001, q), rectangle(a, b))).toBe(false);
  });
});

test('the turn nearest to 0 is given, and 0 when the part fits as it lies', () => {
  expect(fitHull(rectangle(200, 100).flat(), rectangle(220, 220))).toMatchObject({ fits: true, turnDeg: 0 });
  expect(Math.abs(fitHull(rectangle(100, 240).flat(), rectangle(250, 110)).turnDeg)).toBeGreaterThan(70);
  // 291.127 × 20 fits 220 × 220 at 45° only (220·√2 = 291.127 + 20).
  expect(Math.abs(fitHull(rectangle(220 * Math.SQRT2 - 20, 20).flat(), rectangle(220, 220)).turnDeg)).toBeCloseTo(
    45,
    2,
  );
});

test('an equilateral triangle up to (√6 − √2) times the side fits a square, turned by 15°', () => {
  const side = 220 * (Math.sqrt(6) - Math.sqrt(2));
  const triangle = (s: number): Point[] => [
    [0, 0],
    [s, 0],
    [s / 2, (s * Math.sqrt(3)) / 2],
  ];
  const best = fitHull(triangle(side - 1e-5).flat(), rectangle(220, 220));
  expect(best.fits).toBe(true);
  expect(Math.abs(best.turnDeg)).toBeCloseTo(15, 3);
  expect(fits(triangle(side + 1e-5), rectangle(220, 220))).toBe(false);
  expect(fitHull(triangle(300).flat(), rectangle(220, 220)).scaleThatFits).toBeCloseTo(side / 300, 9);
});

test('what is missing is the least scale at any turn, and both sides at that turn', () => {
  const bed = rectangle(220, 220);
  const disc = fitHull(regular(360, 120).flat(), bed);
  expect(disc.fits).toBe(false);
  // A disc is 240 at every turn.
  expect(disc.overMm[0]).toBeCloseTo(20, 1);
  expect(disc.overMm[1]).toBeCloseTo(20, 1);
  expect(disc.scaleThatFits).toBeCloseTo(220 / 240, 4);
  const plank = fitHull(rectangle(412, 268).flat(), rectangle(290, 390));
  expect(plank.turnDeg).toBe(90);
  expect(plank.overMm[0]).toBeCloseTo(0, 9);
  expect(plank.overMm[1]).toBeCloseTo(22, 9);
});

test('the brim takes its width off every side of the plate', () => {
  expect(fits(rectangle(212, 212), rectangle(220, 220), 4)).toBe(true);
  expect(fits(rectangle(212, 212), rectangle(220, 220), 4.001)).toBe(false);
  expect(fits(regular(64, 100), regular(128, 110), 9)).toBe(true);
  expect(fits(regular(64, 100), regular(128, 110), 10.5)).toBe(false);
  expect(fitHull(rectangle(10, 10).flat(), rectangle(20, 20), { brimMm: 10 }).fits).toBe(false);
});

test('a round plate takes what its circle takes: the smallest enclosing circle decides', () => {
  // 256 sides: the polygon holds the circle of radius 125·cos(π/256) = 124.991 and lies in that of 125.
  const plate = regular(256, 125).map(([x, y]) => [x + 125, y + 125] as const);
  const inner = 125 * Math.cos(Math.PI / 256);
  const rectangleOf = (diagonal: number): Point[] => rectangle(0.8 * diagonal, 0.6 * diagonal);
  expect(fits(rectangleOf(2 * inner), plate)).toBe(true);
  expect(fits(rectangleOf(250.01), plate)).toBe(false);
  const square = fitHull(rectangle(200, 200).flat(), plate);
  expect(square.scaleThatFits * 200).toBeGreaterThanOrEqual(inner * Math.SQRT2 - 1e-3);
  expect(square.scaleThatFits * 200).toBeLessThanOrEqual(176.777 + 1e-3);
  expect(fits(regular(3, 124.9), plate)).toBe(true);
  expect(fits(regular(3, 125.1), plate)).toBe(false);
});

test('the general method agrees with the exact one for rectangles', () => {
  const random = seededRandom(8);
  for (let round = 0; round < 100; round++) {
    const [a, b] = [100 + 200 * random.next(), 100 + 200 * random.next()];
    const part = regular(3 + random.below(6), 60 + 60 * random.next(), 90 * random.next()).map(
      ([x, y]) => [x, y * (0.3 + 0.7 * random.next())] as const,
    );
    // A fifth corner outside the rectangle by less than a double can hold against 1e3 mm sends it the general way.
    const bed: Point[] = [[0, 0], [a / 2, -1e-10], ...rectangle(a, b).slice(1)];
    const exact = fitHull(part.flat(), rectangle(a, b));
    const general = fitHull(part.flat(), bed);
    expect(general.fits).toBe(exact.fits);
    expect(general.scaleThatFits).toBeCloseTo(exact.scaleThatFits, 5);
    if (exact.fits) expect(Math.abs(general.turnDeg)).toBeCloseTo(Math.abs(exact.turnDeg), 4);
  }
});

test('the place given holds the turned outline inside the plate and clear of kept-out corners', () => {
  const random = seededRandom(21);
  const bed = rectangle(220, 200);
  const keepOut: Point[][] = [
    [
      [0, 0],
      [40, 0],
      [40, 40],
      [0, 40],
    ],
    [
      [180, 150],
      [220, 150],
      [220, 200],
      [180, 200],
    ],
  ];
  let placedCount = 0;
  for (let round = 0; round < 200; round++) {
    const part = regular(3 + random.below(5), 50 + 60 * random.next(), 360 * random.next());
    const fit = fitHull(part.flat(), bed, { keepOut });
    if (!fit.fits) continue;
    placedCount++;
    const c = Math.cos((fit.turnDeg * Math.PI) / 180);
    const s = Math.sin((fit.turnDeg * Math.PI) / 180);
    const placed = part.map(([x, y]) => [c * x - s * y + fit.atMm![0], s * x + c * y + fit.atMm![1]] as const);
    for (const [x, y] of placed) {
      expect(Math.min(x, y, 220 - x, 200 - y)).toBeGreaterThan(-1e-5);
    }
    for (const area of keepOut) expect(overlapDepth(placed, area)).toBeLessThan(1e-5);
  }
  expect(placedCount).toBeGreaterThan(100);
});

test('kept-out corners leave a plate that a full square no longer fits, but a smaller one does', () => {
  const keepOut = [rectangle(30, 30)];
  expect(fitHull(rectangle(200, 200).flat(), rectangle(220, 220), { keepOut }).fits).toBe(false);
  expect(fitHull(rectangle(190, 190).flat(), rectangle(220, 220), { keepOut }).fits).toBe(true);
  // An L-shaped plate: its pocket is kept out in the same way.
  const ell: Point[] = [
    [0, 0],
    [220, 0],
    [220, 100],
    [100, 100],
    [100, 220],
    [0, 220],
  ];
  expect(fitHull(rectangle(210, 95).flat(), ell).fits).toBe(true);
  expect(fitHull(rectangle(150, 150).flat(), ell).fits).toBe(false);
});

test('a hollow side that reaches round a kept-out corner fits by its true outline, not by its hull', () => {
  // An L of 210 × 210 with limbs of 80 on a plate of 220: its hull covers the corner that it leaves free.
  const ell: Point[] = [
    [0, 0],
    [80, 0],
    [80, 130],
    [210, 130],
    [210, 210],
    [0, 210],
  ];
  const corner: Point[] = [
    [100, 0],
    [220, 0],
    [220, 110],
    [100, 110],
  ];
  const plate = rectangle(220, 220);
  expect(fitHull(ell.flat(), plate, { keepOut: [corner] }).fits).toBe(false);
  const fit = fitHull(ell.flat(), plate, { keepOut: [corner], outline: [ell] });
  expect(fit.fits).toBe(true);
  const [x, y] = fit.atMm!;
  const t = (fit.turnDeg * Math.PI) / 180;
  const placed = ell.map(
    ([a, b]) => [x + Math.cos(t) * a - Math.sin(t) * b, y + Math.sin(t) * a + Math.cos(t) * b] as const,
  );
  for (const [a, b] of placed) {
    expect(Math.min(a, b, 220 - a, 220 - b)).toBeGreaterThan(-1e-5);
    expect(a > 100 + 1e-5 && b < 110 - 1e-5).toBe(false);
  }
  // 5 mm wider limbs do not pass: 130 − 5 − 110 leaves room, 80 + 25 beyond x = 100 does not.
  const broad: Point[] = ell.map(([a, b]) => [a === 80 ? 115 : a, b === 130 ? 95 : b]);
  expect(fitHull(broad.flat(), plate, { keepOut: [corner], outline: [broad] }).fits).toBe(false);
});

test('a plank fits only by turning 37°, where cos 37° = 0.8', () => {
  // 3-4-5: a plank l × w turned by t has sides l·cos t + w·sin t and l·sin t + w·cos t.
  const t = Math.atan2(3, 4);
  const [long, wide] = [250, 40];
  const bed = rectangle(long * 0.8 + wide * 0.6, long * 0.6 + wide * 0.8);
  const fit = fitHull(rectangle(long, wide).flat(), bed);
  expect(fit.fits).toBe(true);
  expect((Math.abs(fit.turnDeg) * Math.PI) / 180).toBeCloseTo(t, 6);
  for (const deg of [0, 20, 30, 36, 38, 45, 60, 90]) {
    const a = (deg * Math.PI) / 180;
    const fits = long * Math.cos(a) + wide * Math.sin(a) <= 224 && long * Math.sin(a) + wide * Math.cos(a) <= 182;
    expect(fits).toBe(false);
  }
});

test('an outline with corners doubled and edges broken by rounding fits as the plain one', () => {
  // A box turned in space has each corner of its shadow twice, some 1e-14 mm apart, and points in the middle of edges: an edge
  // between doubled corners looks anywhere, and the halves of a broken edge may look the wrong way past each other.
  const random = seededRandom(31);
  const rounding = (): number => 2e-13 * (random.next() - 0.5);
  for (let round = 0; round < 2000; round++) {
    const rad = Math.PI * random.next();
    const [c, s] = [Math.cos(rad), Math.sin(rad)];
    const plain = rectangle(200, 60).map(([x, y]) => [c * x - s * y, s * x + c * y] as const);
    const onEdges = plain.map(([x, y], i) => {
      const [u, v] = plain[(i + 1) % 4]!;
      const t = random.next();
      return [x + t * (u - x), y + t * (v - y)] as const;
    });
    const points = round % 2 === 0 ? [...plain, ...onEdges] : [...plain, ...plain, ...plain, ...onEdges];
    const rough = points.flatMap(([x, y]) => [x + rounding(), y + rounding()]);
    const bed = round % 10 === 0 ? regular(7, 110) : rectangle(180, 150);
    const [a, b] = [fitHull(rough, bed), fitHull(plain.flat(), bed)];
    expect(a.fits, `round ${round}`).toBe(b.fits);
    expect(Math.abs(a.scaleThatFits / b.scaleThatFits - 1), `round ${round}`).toBeLessThan(2e-6);
  }
});

test('an empty outline or plate is wrong use', () => {
  expect(() => fitHull([], rectangle(220, 220))).toThrow(StonehandError);
  expect(() => fitHull(rectangle(10, 10).flat(), [])).toThrow(StonehandError);
});

/** Separating axes: how deep two convex polygons overlap (≤ 0 when they do not). */
function overlapDepth(p: readonly Point[], q: readonly Point[]): number {
  let least = Infinity;
  for (const ring of [p, q]) {
    for (let i = 0; i < ring.length; i++) {
      const [ax, ay] = ring[i]!;
      const [bx, by] = ring[(i + 1) % ring.length]!;
      const length = Math.hypot(bx - ax, by - ay);
      const nx = (by - ay) / length;
      const ny = (ax - bx) / length;
      const along = (r: readonly Point[]): number[] => r.map(([x, y]) => nx * x + ny * y);
      const depth = Math.min(
        Math.max(...along(p)) - Math.min(...along(q)),
        Math.max(...along(q)) - Math.min(...along(p)),
      );
      least = Math.min(least, depth);
    }
  }
  return least;
}
