import { assembledMass, inertiaAbout, lineBody, type PartMass } from '@stonehand/balance';
import type { Assembly, Limits, MassReport } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { assembly, at, item, lump, part } from './puppets.ts';

/** 300 g at (40, 30, 200) and 100 g at the origin: 400 g, centre (30, 22.5, 150). */
function two(limits: Limits, share = 0): MassReport {
  const one = assembly('a', { parts: [part('a/top', { places: [at(40, 30, 200)] }), part('a/foot')], limits });
  return assembledMass(one, { pieceMass: { 'a/top': lump(300, [0, 0, 0], share), 'a/foot': lump(100) }, hardware: [] });
}
const only = (limits: Limits, share = 0): MassReport['limits'][number] => two(limits, share).limits[0]!;

describe('what carries an assembly', () => {
  // 1 kgf = 9.80665 N by definition: 0.4 kg at an arm of 30 mm are 1.2 kg·cm.
  test('a moment about an axis: weight times arm, whichever way it pulls', () => {
    const moment = { name: 'jaw', atMm: [0, 0, 0] as const, axis: [0, 1, 0] as const, mostNmm: 120, swings: false };
    const row = only({ moments: [moment] });
    expect(row.value.value).toBeCloseTo(1.2 * 9.80665 * 10, 9);
    expect(row).toMatchObject({ limit: 'moment about jaw at most', unit: 'N·mm', allowed: 120 });
    expect(row.margin).toBeCloseTo(120 - 117.6798, 9);
    const other = only({ moments: [{ ...moment, axis: [0, -1, 0] }] });
    expect(other.value.value).toBeCloseTo(row.value.value, 9);
    const upright = only({ moments: [{ ...moment, axis: [0, 0, 1] }] });
    expect(upright.value.value).toBeCloseTo(0, 9);
  });

  test('one that swings all the way round: the whole distance from its axis counts', () => {
    const row = only({ moments: [{ name: 'hip', atMm: [0, 0, 0], axis: [0, 1, 0], mostNmm: 1000, swings: true }] });
    expect(row.value.value).toBeCloseTo(0.4 * 9.80665 * Math.hypot(30, 150), 9);
  });

  test('gravity may pull another way: lying on its back nothing pulls about x but y and z', () => {
    const limits: Limits = {
      down: [0, 1, 0],
      moments: [{ name: 'hip', atMm: [0, 0, 0], axis: [1, 0, 0], mostNmm: 1000, swings: false }],
    };
    expect(only(limits).value.value).toBeCloseTo(0.4 * 9.80665 * 150, 9);
  });

  test('the row of a moment knows the inertia about its axis', () => {
    const row = only({ moments: [{ name: 'jaw', atMm: [0, 0, 0], axis: [0, 1, 0], mostNmm: 120, swings: false }] });
    expect(row.inertiaGMm2).toBeCloseTo(300 * (40 ** 2 + 200 ** 2), 6);
  });

  test('the centre’s distance from an axis, and from a point', () => {
    expect(only({ centreNear: { atMm: [0, 0, 99], axis: [0, 0, 1], radiusMm: 40 } })).toMatchObject({
      value: { value: 37.5 },
      margin: 2.5,
      unit: 'mm',
    });
    expect(only({ centreNear: { atMm: [30, 22.5, 140], radiusMm: 4 } }).margin).toBeCloseTo(-6, 9);
  });

  test('leaning: the nearest edge of the feet, tan = way to the edge / height over it', () => {
    // Feet 100 × 80 round the origin: the long edge at y = 40 is 17.5 mm away, 150 mm below the centre.
    const feet = [
      [-50, -40, 0],
      [50, -40, 0],
      [50, 40, 0],
      [-50, 40, 0],
      [0, 0, 0],
    ] as const;
    const row = only({ tipping: { pointsMm: feet, leastDeg: 8 } });
    expect(row.value.value).toBeCloseTo((Math.atan2(17.5, 150) * 180) / Math.PI, 9);
    expect(row.margin).toBeCloseTo((Math.atan2(17.5, 150) * 180) / Math.PI - 8, 9);
    expect(row.unit).toBe('°');
    const outside = only({ tipping: { pointsMm: feet.map(([x, y, z]) => [x - 60, y, z] as const), leastDeg: 8 } });
    expect(outside.value.value).toBeLessThan(0);
  });

  test('intervals pass through: 10 % on the far mass moves the moment by 10 % of its own share', () => {
    const row = only(
      { moments: [{ name: 'jaw', atMm: [0, 0, 0], axis: [0, 1, 0], mostNmm: 120, swings: false }] },
      0.1,
    );
    expect(row.value.high! - row.value.value).toBeCloseTo(0.1 * 0.3 * 9.80665 * 40, 6);
    expect(row.chance).toBeGreaterThan(0.5);
    expect(row.chance).toBeLessThan(0.7);
  });
});

describe('what stood on the scale', () => {
  const places = [at(0, 0, 0), at(100, 0, 0)];
  const estimate: PartMass = lump(50, [0, 0, 0], 0.08);
  const scale = { ...lump(46), massG: { value: 46, low: 45, high: 47, level: 0.8, from: 'on the scale' } };
  const pair = (copies: PartMass['copies']): MassReport =>
    assembledMass(assembly('a', { parts: [part('a/leg', { quantity: 2, places })] }), {
      pieceMass: { 'a/leg': copies === undefined ? estimate : { ...estimate, copies } },
      hardware: [],
    });

  test('replaces the estimate copy by copy, and the interval narrows', () => {
    const [none, one, both] = [
      pair(undefined),
      pair({ 1: { ...scale, weighed: true } }),
      pair({ 1: { ...scale, weighed: true }, 2: { ...scale, weighed: true } }),
    ];
    expect([none, one, both].map(({ massG }) => massG.value)).toEqual([100, 96, 92]);
    const halves = [none, one, both].map(({ massG }) => massG.high! - massG.value);
    // Estimates err together (4 + 4 g), a scale by itself (√(1 + 1) g).
    expect(halves[0]).toBeCloseTo(8, 9);
    expect(halves[1]).toBeCloseTo(Math.hypot(4, 1), 9);
    expect(halves[2]).toBeCloseTo(Math.SQRT2, 9);
    expect(one.centreMm[0]).toBeCloseTo((50 * 100) / 96, 9);
    expect(one.weighedG).toBe(46);
  });
});

describe('paint, glue and wiring', () => {
  test('paint by outside area, grams on a square metre and coats; of the whole surface where a share is stated', () => {
    const skin = {
      outsideMm2: 60_000,
      wholeMm2: 100_000,
      centreMm: [5, 0, 0] as const,
      inertiaMm2: [1, 2, 3, 0, 0, 0] as const,
    };
    const coat = { what: 'paint', gPerM2: 100, coats: 2 };
    const painted = (paint: NonNullable<Assembly['parts'][number]['paint']>): MassReport =>
      assembledMass(assembly('a', { parts: [part('a/skull', { paint, places: [at(0, 0, 10)] })] }), {
        pieceMass: { 'a/skull': { ...lump(88), skin } },
        hardware: [],
      });
    const outside = painted([coat]);
    expect(outside.byExtraG).toEqual({ paint: 0.06 * 100 * 2 });
    expect(outside.massG.value).toBe(100);
    expect(outside.centreMm).toEqual([0.6, 0, 10]);
    expect(painted([{ ...coat, share: 0.5 }, coat]).extraG).toBeCloseTo(10 + 12, 9);
  });

  test('glue by the length of joints, here and in children that state none', () => {
    const seam = {
      id: 'a/seam',
      kind: 'glue' as const,
      between: [],
      atMm: [10, 0, 0] as const,
      axis: [0, 0, 1] as const,
    };
    const child = assembly('a/b', { joints: [{ ...seam, lengthMm: 500 }] });
    const root = assembly('a', {
      joints: [
        { ...seam, diameterMm: 20 },
        { ...seam, id: 'a/open' },
        { ...seam, kind: 'turning', lengthMm: 900 },
      ],
      children: [{ assembly: child, place: at(0, 0, 0) }],
      glueGPerM: 8,
    });
    const report = assembledMass(root, { pieceMass: {}, hardware: [] });
    expect(report.extraG).toBeCloseTo(8 * (Math.PI * 0.02 + 0.5), 9);
    expect(report.missing).toEqual(['a/open: no length is stated, so its glue is not weighed']);
  });

  test('wiring along its way: an L of two rods has its centre and inertia by closed form', () => {
    const body = lineBody(30, [
      [0, 0, 0],
      [200, 0, 0],
      [200, 100, 0],
    ]);
    expect(body.centreMm[0]).toBeCloseTo((20 * 100 + 10 * 200) / 30, 9);
    expect(body.centreMm[1]).toBeCloseTo((10 * 50) / 30, 9);
    // About z through the corner: a rod of length l turns with m·l²/3 about its end.
    const corner = inertiaAbout(body, { atMm: [200, 0, 0], axis: [0, 0, 1] });
    expect(corner).toBeCloseTo((20 * 200 ** 2) / 3 + (10 * 100 ** 2) / 3, 6);
    expect(lineBody(5, [[1, 2, 3]])).toEqual({ massG: 5, centreMm: [1, 2, 3], inertiaGMm2: [0, 0, 0, 0, 0, 0] });
  });

  test('bought items, paint and parts from elsewhere all count; what is named missing does not', () => {
    const root = assembly('a', {
      parts: [part('a/found', { status: 'elsewhere', massG: 40 })],
      hardware: [{ itemId: 'cell', quantity: 1, places: [[0, 0, 0]] }],
      extras: [{ what: 'leads', kind: 'wiring', massG: 6, alongMm: [] }],
    });
    const report = assembledMass(root, { pieceMass: { 'a/found': lump(50) }, hardware: [item('cell', 46)] });
    expect(report.massG.value).toBe(40 + 46 + 6);
    expect([report.printedG, report.boughtG, report.extraG]).toEqual([40, 46, 6]);
  });
});
