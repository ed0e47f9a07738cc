import { type Body, combineBodies, pointBody, transformBody } from '@stonehand/balance';
import {
  type Affine,
  affineOf,
  applyAffine,
  composeAffine,
  rotationOfTurns,
  StonehandError,
  seededRandom,
} from '@stonehand/base';
import fc from 'fast-check';
import { expect, test } from 'vitest';

type Point = readonly [number, number, number];

/** The definition, term by term: masses, first and second moments of points. */
function bodyOfPoints(points: readonly { m: number; at: Point }[]): Body {
  const mass = points.reduce((s, p) => s + p.m, 0);
  const c = [0, 1, 2].map((k) => points.reduce((s, p) => s + p.m * p.at[k]!, 0) / mass) as [number, number, number];
  const moment = (f: (x: number, y: number, z: number) => number): number =>
    points.reduce((s, p) => s + p.m * f(p.at[0] - c[0], p.at[1] - c[1], p.at[2] - c[2]), 0);
  return {
    massG: mass,
    centreMm: c,
    inertiaGMm2: [
      moment((_, y, z) => y * y + z * z),
      moment((x, _, z) => x * x + z * z),
      moment((x, y) => x * x + y * y),
      moment((x, y) => -x * y),
      moment((_, y, z) => -y * z),
      moment((x, _, z) => -z * x),
    ],
  };
}

function expectSame(a: Body, b: Body): void {
  const size = Math.max(...b.inertiaGMm2.map(Math.abs), 1);
  expect(Math.abs(a.massG - b.massG)).toBeLessThan(1e-12 * b.massG);
  for (let k = 0; k < 3; k++) expect(Math.abs(a.centreMm[k]! - b.centreMm[k]!)).toBeLessThan(1e-9);
  for (let k = 0; k < 6; k++) expect(Math.abs(a.inertiaGMm2[k]! - b.inertiaGMm2[k]!)).toBeLessThan(1e-10 * size);
}

// 10 × 20 × 30 at 1 g/cm³: m/12·(b² + c²) and so on.
const BOX: Body = { massG: 6, centreMm: [0, 0, 0], inertiaGMm2: [650, 500, 250, 0, 0, 0] };

test('a box about a line 50 mm away, parallel to x: 650 + 6·50² = 15650 (parallel axis)', () => {
  const pair = combineBodies([
    transformBody(BOX, affineOf([1, 0, 0, 0, 1, 0, 0, 0, 1], [0, 50, 0])),
    transformBody(BOX, affineOf([1, 0, 0, 0, 1, 0, 0, 0, 1], [0, -50, 0])),
  ]);
  expect(pair).toEqual({ massG: 12, centreMm: [0, 0, 0], inertiaGMm2: [2 * 15650, 1000, 2 * (250 + 15000), 0, 0, 0] });
});

test('a quarter turn about z swaps the moments about x and y', () => {
  expect(transformBody(BOX, affineOf(rotationOfTurns([0, 0, 90]), [0, 0, 0])).inertiaGMm2.map((v) => v + 0)).toEqual([
    500, 650, 250, 0, 0, 0,
  ]);
});

test('ten bodies in nested places weigh as all their points together', () => {
  const random = seededRandom(3);
  const place = (): Affine =>
    affineOf(rotationOfTurns([360 * random.next(), 360 * random.next(), 360 * random.next()]), [
      200 * random.normal(),
      200 * random.normal(),
      200 * random.normal(),
    ]);
  const all: { m: number; at: Point }[] = [];
  const bodies: Body[] = [];
  const outer = [place(), place(), place()];
  for (let i = 0; i < 10; i++) {
    const points = Array.from({ length: 12 }, () => ({
      m: 1 + 5 * random.next(),
      at: [30 * random.normal(), 30 * random.normal(), 30 * random.normal()] as const,
    }));
    // Placed in a child, which is placed in a grandchild's parent: one to three places deep.
    const chain = [place(), ...outer.slice(0, i % 4)];
    bodies.push(chain.reduce(transformBody, bodyOfPoints(points)));
    const whole = chain.reduce((inner, next) => composeAffine(next, inner));
    for (const p of points) all.push({ m: p.m, at: applyAffine(whole, p.at) });
  }
  expectSame(combineBodies(bodies), bodyOfPoints(all));
});

const angle = fc.double({ min: -180, max: 180, noNaN: true });
const length = fc.double({ min: -300, max: 300, noNaN: true });
const mass = fc.double({ min: 0.1, max: 500, noNaN: true });
const rigid = fc
  .tuple(angle, angle, angle, length, length, length)
  .map(([a, b, c, x, y, z]) => affineOf(rotationOfTurns([a, b, c]), [x, y, z]));
const body = fc
  .array(fc.tuple(mass, length, length, length), { minLength: 1, maxLength: 6 })
  .map((points) => bodyOfPoints(points.map(([m, x, y, z]) => ({ m, at: [x, y, z] as const }))));

test('placing a whole equals placing its members, mirrors included', () => {
  const mirror: Affine = [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
  fc.assert(
    fc.property(fc.array(body, { minLength: 1, maxLength: 5 }), rigid, fc.boolean(), (bodies, place, mirrored) => {
      const p = mirrored ? composeAffine(place, mirror) : place;
      expectSame(combineBodies(bodies.map((b) => transformBody(b, p))), transformBody(combineBodies(bodies), p));
    }),
    { seed: 13 },
  );
});

test('a turn keeps mass, trace and the length of the tensor', () => {
  fc.assert(
    fc.property(body, rigid, (b, place) => {
      const t = transformBody(b, place);
      const trace = ([x, y, z]: readonly number[]): number => x! + y! + z!;
      const square = ([x, y, z, p, q, r]: readonly number[]): number =>
        x! ** 2 + y! ** 2 + z! ** 2 + 2 * (p! ** 2 + q! ** 2 + r! ** 2);
      expect(t.massG).toBe(b.massG);
      expect(Math.abs(trace(t.inertiaGMm2) - trace(b.inertiaGMm2))).toBeLessThanOrEqual(1e-12 * trace(b.inertiaGMm2));
      expect(Math.abs(square(t.inertiaGMm2) - square(b.inertiaGMm2))).toBeLessThanOrEqual(
        1e-11 * square(b.inertiaGMm2),
      );
    }),
    { seed: 14 },
  );
});

test('in whatever groups bodies are combined, the whole is the same', () => {
  fc.assert(
    fc.property(fc.array(body, { minLength: 2, maxLength: 8 }), fc.nat(), (bodies, at) => {
      const cut = 1 + (at % (bodies.length - 1));
      const halves = [combineBodies(bodies.slice(0, cut)), combineBodies(bodies.slice(cut))];
      expectSame(combineBodies(halves), combineBodies(bodies));
    }),
    { seed: 15 },
  );
});

test('nothing weighs nothing, and a place that stretches is refused', () => {
  expect(combineBodies([])).toEqual(pointBody(0, [0, 0, 0]));
  expect(() => transformBody(BOX, [2, 0, 0, 0, 0, 2, 0, 0, 0, 0, 2, 0])).toThrow(StonehandError);
});
