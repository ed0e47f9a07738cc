import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import { type Bore, featureFor, findBores, judgeFit, magnetsNear, stackUp } from '@stonehand/inspect';
import { transformMesh } from '@stonehand/mesh';
import type { FitWish, HardwareSize, Stack } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lathe, tube } from './solids.ts';

describe('bores under worse conditions', () => {
  test('of 24 to 128 facets, turned any way, with corners off by up to 5 µm, keep their size within 0.02 mm', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 24, max: 128 }),
        fc.tuple(fc.nat(359), fc.nat(359), fc.nat(359)),
        fc.double({ min: 1.5, max: 40, noNaN: true }),
        fc.nat(),
        (sides, turns, r, seed) => {
          const random = seededRandom(seed);
          const turned = transformMesh(tube(r, r + 3, 10, sides), affineOf(rotationOfTurns(turns), [12, -7, 50]));
          const noisy = turned.positions.map((x) => x + 0.01 * (random.next() - 0.5));
          const bore = findBores({ ...turned, positions: noisy }).find(({ kind }) => kind === 'bore')!;
          expect(Math.abs(bore.cornersMm - 2 * r)).toBeLessThan(0.02);
          expect(Math.abs(bore.flatsMm - 2 * r * Math.cos(Math.PI / sides))).toBeLessThan(0.02);
          // Two extreme corners with 5 µm in each direction, and an axis that leans at most as one facet does, over the width.
          const depthToleranceMm = 2 * Math.sqrt(3) * 0.005 + 2 * r * (0.005 / 10);
          expect(Math.abs(bore.depthMm - 10)).toBeLessThan(depthToleranceMm);
        },
      ),
      { seed: 7, numRuns: 60 },
    );
  });

  test('with three grooves along the seat are one bore still', () => {
    const [bore, ...more] = findBores(grooved(11.05, 18, 8, 72)).filter(({ kind }) => kind === 'bore');
    expect(more).toEqual([]);
    expect(bore!.cornersMm).toBeCloseTo(22.1, 6);
    expect(bore!.flatsMm).toBeCloseTo(22.1 * Math.cos(Math.PI / 72), 6);
    expect(bore!.outline).toBe('round');
  });
});

/** A ring whose inside steps back by 4 mm over three stretches of 15°: a bearing's seat with a puller's slots. */
function grooved(inner: number, outer: number, height: number, sides: number): ReturnType<typeof lathe> {
  const mesh = lathe(
    [
      [inner, 0],
      [outer, 0],
      [outer, height],
      [inner, height],
    ],
    sides,
  );
  // The lathe makes every ring of the same corners; those of a groove move outward, and the walls at its ends stand steeply.
  const positions = mesh.positions.slice();
  for (let v = 0; v < positions.length; v += 3) {
    const r = Math.hypot(positions[v]!, positions[v + 1]!);
    const side = Math.round(((Math.atan2(positions[v + 1]!, positions[v]!) / (2 * Math.PI) + 1) % 1) * sides) % sides;
    if (Math.abs(r - inner) > 1e-9 || side % (sides / 3) > 2) continue;
    positions[v]! *= (inner + 4) / inner;
    positions[v + 1]! *= (inner + 4) / inner;
  }
  return { ...mesh, positions };
}

const bore = (flatsMm: number, more: Partial<Bore> = {}): Bore => ({
  kind: 'bore',
  outline: 'round',
  cornersMm: flatsMm + 0.02,
  flatsMm,
  facets: 64,
  depthMm: 7,
  atMm: [0, 0, 0],
  axis: [0, 0, 1],
  triangles: 128,
  ...more,
});
const round = (outsideMm: number, more: Partial<HardwareSize> = {}): HardwareSize => ({
  shape: 'round',
  outsideMm,
  from: 'test',
  ...more,
});
const wish = (fit: FitWish['fit'], on: FitWish['on'] = 'bore'): FitWish => ({ itemId: 'x', fit, on });

describe('whether a bought item sits as wanted', () => {
  // Worked by hand: printed = drawn · (1 − shrinkage that nobody makes up for) − allowance of holes; gap a side = (printed − item) / 2.
  test.each([
    // 608: 22 outside (ISO 15). 22.1 drawn, holes 0.2 small: 21.9, −0.05 a side: press (−0.10 to 0).
    ['608 seat of 22.1, typical printer', bore(22.1), round(22), wish('press'), {}, -0.05, true, 0],
    // 22.3 drawn on the same printer: 22.1, +0.05: no press; 0.1 a side too wide of the middle −0.05: draw 0.2 smaller.
    ['608 seat of 22.3, typical printer', bore(22.3), round(22), wish('press'), {}, 0.05, false, -0.2],
    // ABS 0.7 % that nobody makes up for: 22.1 · 0.993 = 21.9453 − 0.1 (measured) = 21.8453: −0.07735 a side: press.
    [
      '608 in shrinking ABS',
      bore(22.1),
      round(22),
      wish('press'),
      { shrinkShare: 0.007, shrinkBy: 'nobody', allowance: { holeMm: 0.1, outsideMm: 0 } },
      -0.07735,
      true,
      0,
    ],
    // The same, made up for by the slicing program: shrinkage does not count: 22.0, 0 a side: still a press fit.
    [
      '608, slicing makes up',
      bore(22.1),
      round(22),
      wish('press'),
      { shrinkShare: 0.007, shrinkBy: 'slicing', allowance: { holeMm: 0.1, outsideMm: 0 } },
      0,
      true,
      0,
    ],
    // M3 by ISO 273: 3.4 medium to 3.6 coarse as printed. 3.5 drawn gives 3.3: 0.15 a side of 0.2 to 0.3 wanted: draw 0.2 larger.
    ['M3 clearance of 3.5', bore(3.5), round(3, { clearanceMm: [3.4, 3.6] }), wish('clearance'), {}, 0.15, false, 0.2],
    ['M3 clearance of 3.7', bore(3.7), round(3, { clearanceMm: [3.4, 3.6] }), wish('clearance'), {}, 0.25, true, 0],
    // M3 nut ISO 4032, 5.5 across flats. 5.7 drawn gives 5.5: 0: snug.
    [
      'M3 nut pocket of 5.7',
      bore(5.7, { outline: 'hexagon' }),
      round(5.5, { shape: 'hexagon' }),
      wish('snug'),
      {},
      0,
      true,
      0,
    ],
    // Boss under a 608's 8 mm bore: 7.8 drawn + 0.1 = 7.9: 0.05 a side: snug; judged on its corners.
    [
      '608 on a boss of 7.8',
      bore(7.78, { kind: 'boss', cornersMm: 7.8 }),
      round(22, { insideMm: 8 }),
      wish('snug', 'boss'),
      {},
      0.05,
      true,
      0,
    ],
  ] as const)('%s', (_, feature, size, wanted, printing, gapMm, fits, changeMm) => {
    const judged = judgeFit(feature, size, wanted, { shrinkShare: 0, ...printing });
    expect(judged.gapMm).toBeCloseTo(gapMm, 9);
    expect(judged.fits).toBe(fits);
    expect(judged.changeMm).toBeCloseTo(changeMm, 9);
  });

  test('after the change it asks for, the gap is in the middle of what is wanted', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 2, max: 60, noNaN: true }),
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 0.02, noNaN: true }),
        fc.constantFrom('press', 'snug', 'sliding', 'loose' as const),
        (itemMm, off, shrinkShare, fit) => {
          const printing = { shrinkShare, shrinkBy: 'nobody' } as const;
          const judged = judgeFit(bore(itemMm + off), round(itemMm), wish(fit), printing);
          const again = judgeFit(bore(itemMm + off + judged.changeMm), round(itemMm), wish(fit), printing);
          expect(again.fits).toBe(true);
          if (!judged.fits) expect(again.gapMm).toBeCloseTo((again.wantedMm[0] + again.wantedMm[1]) / 2, 9);
        },
      ),
      { numRuns: 200 },
    );
  });

  test('the bore is looked for by outline and size, and near its place where one is stated', () => {
    const seat = bore(22.1, { atMm: [0, 0, 8] });
    const shoulder = bore(18.8);
    const far = bore(22.05, { atMm: [60, 0, 8] });
    expect(featureFor([shoulder, far, seat], round(22), { ...wish('press'), atMm: [1, 0, 5] })).toBe(seat);
    expect(featureFor([shoulder, far, seat], round(22), wish('press'))).toBe(far);
    expect(featureFor([shoulder], round(22, { shape: 'hexagon' }), wish('press'))).toBeUndefined();
  });
});

describe('a stack of heights', () => {
  const item = (what: string, heightMm: number, plusMm: number, minusMm: number, count = 1, partId?: string) => ({
    what,
    heightMm,
    plusMm,
    minusMm,
    count,
    ...(partId === undefined ? {} : { partId }),
  });
  const stack: Stack = {
    id: 'hinge',
    within: { what: 'fork', heightMm: 40, plusMm: 0.2, minusMm: 0.2 },
    items: [
      item('cheek', 6.05, 0.1, 0.1, 1, 'cheek'),
      item('washer', 0.8, 0.05, 0.05, 2),
      item('bearing', 7, 0, 0.12, 2),
      item('spacer tube', 10, 0.1, 0.1),
      item('collar', 5, 0.05, 0.05),
      item('felt', 1, 0.2, 0.2),
    ],
    gapMm: [0.2, 3],
  };

  test('of eight items against its hand computation, worst case and root of squares', () => {
    // The cheek prints as 30 layers of 0.2: 6.0. Sum 6 + 1.6 + 14 + 10 + 5 + 1 = 37.6, free 2.4.
    // Worst: up 0.2 + minus (0.1 + 0.1 + 0.24 + 0.1 + 0.05 + 0.2) = 0.99; down 0.2 + plus (0.1 + 0.1 + 0 + 0.1 + 0.05 + 0.2) = 0.75.
    const result = stackUp(stack, () => 0.2);
    expect(result.gapMm).toBeCloseTo(2.4, 12);
    expect(result.worstMm[0]).toBeCloseTo(1.65, 12);
    expect(result.worstMm[1]).toBeCloseTo(3.39, 12);
    // Half widths 0.2, 0.1, 2 × 0.05, 2 × 0.06, 0.1, 0.05, 0.2: √(0.04 + 0.01 + 0.005 + 0.0072 + 0.01 + 0.0025 + 0.04) = √0.1147; centre 2.52.
    const half = Math.sqrt(0.1147);
    expect(result.likelyMm[0]).toBeCloseTo(2.52 - half, 12);
    expect(result.likelyMm[1]).toBeCloseTo(2.52 + half, 12);
    expect(result.fits).toBe('mostly');
  });

  test('says how many washers bring it home', () => {
    const spacer = { what: 'M4 washer', heightMm: 0.8, plusMm: 0.05, minusMm: 0.05 };
    const result = stackUp({ ...stack, gapMm: [0.1, 1.5], spacer }, () => 0.2);
    // 2.4 free, 0.8 wanted in the middle: two washers leave 0.8.
    expect(result.fits).toBe('no');
    expect(result.spacers!.count).toBe(2);
    expect(result.spacers!.gapMm).toBeCloseTo(0.8, 12);
  });
});

test('steel within twice a magnet’s diameter is named, other magnets and brass are not', () => {
  const pulls = magnetsNear([
    { itemId: '6x3 magnet', atMm: [0, 0, 0], magnetic: true, magnetMm: 6 },
    { itemId: '6x3 magnet', atMm: [5, 0, 0], magnetic: true, magnetMm: 6 },
    { itemId: 'M3 nut', atMm: [0, 11, 0], magnetic: true },
    { itemId: 'M3 nut', atMm: [0, 40, 0], magnetic: true },
    { itemId: 'brass rod', atMm: [0, 2, 0], magnetic: false },
  ]);
  expect(pulls.map(({ itemId, distanceMm }) => [itemId, distanceMm])).toEqual([['M3 nut', 11]]);
});
