import { assembledMass, counterweight, type PartMass } from '@stonehand/balance';
import { affineOf, rotationOfTurns } from '@stonehand/base';
import type { Assembly, HardwareItem, PartSpec, Placement } from '@stonehand/model';
import { describe, expect, test } from 'vitest';

const HERE: Placement = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
const at = (x: number, y: number, z: number): Placement => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z];

function part(id: string, more: Partial<PartSpec> = {}): PartSpec {
  return {
    id,
    name: id,
    assemblyId: 'heron/head',
    meshFile: `${id}.stl`,
    unit: 'mm',
    unitFrom: 'stated',
    scale: 1,
    quantity: 1,
    spares: 0,
    materialId: 'pla-white',
    recipeId: 'plain',
    status: 'print',
    pose: 'auto',
    split: 'auto',
    importance: 1,
    places: [HERE],
    finishing: [],
    basedOn: [],
    ...more,
  };
}

function assembly(id: string, more: Partial<Assembly> = {}): Assembly {
  return { id, name: id, parts: [], hardware: [], children: [], joints: [], limits: {}, ...more };
}

function item(id: string, massG: number): HardwareItem {
  return { id, name: id, massG, magnetic: false };
}

function shape(massG: number, centreMm: readonly [number, number, number] = [0, 0, 0], share = 0): PartMass {
  const interval = share === 0 ? {} : { low: massG * (1 - share), high: massG * (1 + share), level: 0.8 };
  return { massG: { value: massG, from: 'estimate', ...interval }, centreMm, inertiaGMm2: [0, 0, 0, 0, 0, 0] };
}

// Check values: a printed shell, two cells, a bearing, a brass rod ⌀4 × 100 and four screws (masses by hand and by catalogue).
const HARDWARE = [
  item('cell', 45),
  item('bearing-608', 11.8),
  item('rod-brass-4x100', ((Math.PI / 4) * 16 * 100 * 8.5) / 1000),
  item('screw-m3x10', 0.9),
];
const HEAD = assembly('heron/head', {
  parts: [part('heron/head/shell')],
  hardware: [
    {
      itemId: 'cell',
      quantity: 2,
      places: [
        [-20, 15, 10],
        [-20, -15, 10],
      ],
    },
    { itemId: 'bearing-608', quantity: 1, places: [[0, 0, 0]] },
    { itemId: 'rod-brass-4x100', quantity: 1, places: [[60, 0, 20]] },
    {
      itemId: 'screw-m3x10',
      quantity: 4,
      places: [
        [30, 0, 45],
        [30, 0, 45],
        [30, 0, 45],
        [30, 0, 45],
      ],
    },
  ],
});
const SHELL = { 'heron/head/shell': shape(180, [0, 0, 50]) };

describe('a head with hardware, worked by hand', () => {
  const report = assembledMass(HEAD, { pieceMass: SHELL, hardware: HARDWARE });

  test('296.081415 g, centre (−3.550088, 0, 34.705415)', () => {
    expect(report.massG.value).toBeCloseTo(296.081415, 6);
    expect(report.centreMm[0]).toBeCloseTo(-3.550088, 6);
    expect(report.centreMm[1]).toBeCloseTo(0, 12);
    expect(report.centreMm[2]).toBeCloseTo(34.705415, 6);
    expect(report.massG.value * report.centreMm[0]).toBeCloseTo(-1051.115, 3);
  });

  test('13.1389 g at x = 80 bring the centre to x = 0', () => {
    const weight = counterweight(report, 0, { wantedMm: 0, atMm: [80, 0, 0] })!;
    expect(weight.massG).toBeCloseTo(13.1389, 4);
    expect(weight.centreMm[0]).toBeCloseTo(0, 12);
    expect(counterweight(report, 0, { wantedMm: 0, atMm: [-80, 0, 0] })).toBeUndefined();
    expect(counterweight(report, 0, { wantedMm: 0, atMm: [0, 0, 0] })).toBeUndefined();
  });

  test('printed and bought are told apart', () => {
    expect(report.printedG).toBe(180);
    expect(report.boughtG).toBeCloseTo(116.081415, 6);
    expect(report.byPartG).toEqual({ 'heron/head/shell': 180 });
    expect(report.byMaterialG).toEqual({ 'pla-white': 180 });
    expect(report.missing).toEqual([]);
  });
});

test('a child assembly counts with its own place, and reports in its own axes', () => {
  const turn = affineOf(rotationOfTurns([0, 90, 0]), [0, 0, 300]);
  const body = assembly('heron', {
    parts: [part('heron/harness', { places: [at(0, 0, 100)] })],
    children: [{ assembly: HEAD, place: turn }],
  });
  const pieceMass = { ...SHELL, 'heron/harness': shape(400) };
  const report = assembledMass(body, { pieceMass, hardware: HARDWARE });
  expect(report.massG.value).toBeCloseTo(696.081415, 6);
  // The turn takes (x, y, z) to (z, y, −x).
  expect(report.centreMm[0]).toBeCloseTo((296.081415 * 34.705415) / 696.081415, 5);
  expect(report.centreMm[2]).toBeCloseTo((296.081415 * (300 + 3.550088) + 400 * 100) / 696.081415, 5);
  expect(report.children[0]!.centreMm[0]).toBeCloseTo(-3.550088, 6);
  expect(report.byPartG).toEqual({ 'heron/harness': 400, 'heron/head/shell': 180 });
  expect(report.boughtG).toBeCloseTo(116.081415, 6);
});

test('the same child twice counts twice, mirrored to the other side', () => {
  const wing = assembly('wing', { parts: [part('wing/blade', { places: [at(100, 20, 0)] })] });
  const mirror: Placement = [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0];
  const both = assembly('heron', {
    children: [
      { assembly: wing, place: HERE },
      { assembly: wing, place: mirror },
    ],
  });
  const report = assembledMass(both, { pieceMass: { 'wing/blade': shape(50) }, hardware: [] });
  expect(report.byPartG).toEqual({ 'wing/blade': 100 });
  expect(report.centreMm).toEqual([100, 0, 0]);
  expect(report.inertiaGMm2[0]).toBeCloseTo(2 * 50 * 400, 9);
});

describe('what is not known is named, and counts where it can', () => {
  const mixed = assembly('heron', {
    parts: [
      part('heron/placed', { places: [at(10, 0, 0)] }),
      part('heron/loose', { quantity: 3, places: [at(20, 0, 0)] }),
      part('heron/unknown', { quantity: 2 }),
      part('heron/bought-print', { status: 'elsewhere', massG: 40, places: [at(0, 0, 0)] }),
    ],
    hardware: [{ itemId: 'screw-m3x10', quantity: 5, places: [[0, 0, 0]] }],
  });
  const pieceMass = { 'heron/placed': shape(100), 'heron/loose': shape(10) };
  const report = assembledMass(mixed, { pieceMass, hardware: HARDWARE });

  test('mass of copies without a place counts, their centre does not', () => {
    expect(report.massG.value).toBeCloseTo(100 + 30 + 40 + 4.5, 9);
    expect(report.centreMm[0]).toBeCloseTo((100 * 10 + 10 * 20) / (100 + 10 + 0.9), 9);
  });

  test('each gap has a line', () => {
    expect(report.missing).toEqual([
      'heron/loose: no place is stated for 2 of 3',
      'heron/unknown: no mass is known',
      'heron/bought-print: its shape is not known for 1 of 1',
      'heron: no place is stated for 4 of 5 screw-m3x10',
    ]);
  });

  test('an item that the shop does not have is an error with its name', () => {
    const wrong = assembly('heron', { hardware: [{ itemId: 'screw-m5', quantity: 1, places: [] }] });
    expect(() => assembledMass(wrong, { pieceMass: {}, hardware: HARDWARE })).toThrow(
      /heron: the bought item "screw-m5"/,
    );
  });
});

test('a stated mass wins over the estimated one and keeps the shape', () => {
  const pieceMass: Record<string, PartMass> = {
    'heron/beak': {
      massG: { value: 50, low: 45, high: 55, from: 'estimate' },
      centreMm: [5, 0, 0],
      inertiaGMm2: [100, 200, 300, 0, 0, 0],
    },
  };
  const report = assembledMass(assembly('heron', { parts: [part('heron/beak', { status: 'have', massG: 60 })] }), {
    pieceMass,
    hardware: [],
  });
  expect(report.massG).toEqual({ value: 60, from: '1 printed copy' });
  expect(report.inertiaGMm2).toEqual([120, 240, 360, 0, 0, 0]);
});

describe('limits', () => {
  const limited = (massG: number, share: number): ReturnType<typeof assembledMass> =>
    assembledMass(
      assembly('heron', {
        parts: [part('heron/front', { places: [at(30, 0, 0)] }), part('heron/back', { places: [at(-30, 0, 0)] })],
        limits: { massG, centreMm: { min: [-5, null, null], max: [5, null, 20] } },
      }),
      {
        pieceMass: { 'heron/front': shape(100, [0, 0, 0], share), 'heron/back': shape(100, [0, 0, 0], share) },
        hardware: [],
      },
    );

  test('value, margin and a row for each stated limit', () => {
    const rows = limited(220, 0.08).limits;
    expect(rows.map((r) => r.limit)).toEqual([
      'mass at most',
      'centre x at least',
      'centre x at most',
      'centre z at most',
    ]);
    expect(rows[0]).toMatchObject({ unit: 'g', allowed: 220, margin: 20 });
    expect(rows[0]!.value).toMatchObject({ value: 200, low: 184, high: 216, level: 0.8 });
    // ±8 g at 30 mm on either side of 200 g: each moves the centre by 1.2 mm, together √2 times that or nothing.
    expect(rows[1]!.value.high).toBeCloseTo(1.2 * Math.SQRT2, 9);
    expect(rows[1]!.margin).toBeCloseTo(5, 12);
    expect(rows[3]).toMatchObject({ margin: 20, chance: 1 });
  });

  // 80 % lie within 1.281552 standard deviations, 90 % below the upper end (tables of the normal distribution).
  test('at the upper end of an 80 % interval the chance is 9 in 10, at its middle 1 in 2', () => {
    expect(limited(216, 0.08).limits[0]!.chance).toBeCloseTo(0.9, 6);
    expect(limited(200, 0.08).limits[0]!.chance).toBeCloseTo(0.5, 6);
    expect(limited(184, 0.08).limits[0]!.chance).toBeCloseTo(0.1, 6);
    // Two and a half half-widths: 3.20388 standard deviations, 0.99932.
    expect(limited(240, 0.08).limits[0]!.chance).toBeCloseTo(0.99932, 5);
  });

  test('without an interval a limit is kept or broken', () => {
    expect(limited(200, 0).limits[0]).toMatchObject({ margin: 0, chance: 1 });
    expect(limited(199, 0).limits[0]).toMatchObject({ margin: -1, chance: 0 });
  });

  test('an interval at another level is brought to 80 %', () => {
    const report = assembledMass(assembly('heron', { parts: [part('heron/front')], limits: { massG: 119.6 } }), {
      // 95 %: 1.959964 standard deviations of 10 g.
      pieceMass: {
        'heron/front': { ...shape(100), massG: { value: 100, low: 80.4, high: 119.6, level: 0.95, from: 'scale' } },
      },
      hardware: [],
    });
    expect(report.massG.high).toBeCloseTo(100 + 12.81552 * (19.6 / 19.59964), 4);
    expect(report.limits[0]!.chance).toBeCloseTo(0.975, 6);
  });
});
