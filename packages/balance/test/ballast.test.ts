import { type Ballasted, ballast, loadSolver, type Solver } from '@stonehand/balance';
import type { Assembly, BallastRule, Limits, Vec3 } from '@stonehand/model';
import { beforeAll, describe, expect, test } from 'vitest';
import { assembly, item, lump, part } from './puppets.ts';

let solver: Solver;
beforeAll(async () => {
  solver = await loadSolver();
});

// The worked head of check values: shell, two cells, bearing, brass rod, four screws; 296.081415 g, centre x −3.550088.
const ROD_G = ((Math.PI / 4) * 16 * 100 * 8.5) / 1000;
const HARDWARE = [item('cell', 45), item('608', 11.8), item('rod', ROD_G), item('screw', 0.9), item('nut', 2.5)];
const HEAD = assembly('head', {
  parts: [part('head/shell')],
  hardware: [
    {
      itemId: 'cell',
      quantity: 2,
      places: [
        [-20, 15, 10],
        [-20, -15, 10],
      ],
    },
    { itemId: '608', quantity: 1, places: [[0, 0, 0]] },
    { itemId: 'rod', quantity: 1, places: [[60, 0, 20]] },
    { itemId: 'screw', quantity: 4, places: Array.from({ length: 4 }, (): Vec3 => [30, 0, 45]) },
  ],
});
const INPUT = { pieceMass: { 'head/shell': lump(180, [0, 0, 50]) }, hardware: HARDWARE };
const M = 296.081415;
const NOTHING: BallastRule = { places: [], itemIds: [], movable: [] };
const point = (name: string, at: Vec3): BallastRule['places'][number] => ({ name, minMm: at, maxMm: at });

function plans(limits: Limits, rule: Partial<BallastRule>, head: Assembly = HEAD): Ballasted[] {
  return ballast({ ...head, limits }, INPUT, { ...NOTHING, ...rule }, solver);
}

describe('counterweights against closed form', () => {
  const home: Limits = { centreMm: { min: [0, null, null] } };

  test('13.1389 g at x = 80 bring the worked head to x = 0', () => {
    const [plan] = plans(home, { places: [point('beak', [80, 0, 0])] });
    expect(plan!.addedG).toBeCloseTo(1051.115 / 80, 4);
    expect(plan!.weights).toHaveLength(1);
    expect(plan!.after.centreMm[0]).toBeCloseTo(0, 6);
    expect(plan!.holds).toBe(true);
  });

  test('of several places the one with the longest arm, of a box its far end', () => {
    const places = [
      point('near', [40, 0, 0]),
      { name: 'rail', minMm: [10, -5, 0] as Vec3, maxMm: [100, 5, 10] as Vec3 },
    ];
    const [plan] = plans(home, { places });
    expect(plan!.weights.map(({ place }) => place)).toEqual(['rail']);
    // Along y and z no limit feels it: the middle of the box.
    expect(plan!.weights[0]!.atMm).toEqual([100, 0, 5]);
    expect(plan!.addedG).toBeCloseTo(1051.115 / 100, 4);
  });

  test('bought items come whole: six nuts of 2.5 g instead of 13.14 g', () => {
    const [plan] = plans(home, { places: [point('beak', [80, 0, 0])], itemIds: ['nut'] });
    expect(plan!.weights).toMatchObject([{ itemId: 'nut', count: Math.ceil(1051.115 / 80 / 2.5), massG: 15 }]);
    expect(plan!.after.boughtG).toBeCloseTo(M - 180 + 15, 6);
  });

  test('a place that holds too little is filled, the rest goes to the next', () => {
    const places = [{ ...point('beak', [80, 0, 0]), mostG: 10 }, point('brow', [40, 0, 0])];
    const [plan] = plans(home, { places });
    expect(plan!.addedG).toBeCloseTo(10 + (1051.115 - 800) / 40, 4);
  });

  test('a place on the wrong side helps nothing', () => {
    expect(plans(home, { places: [point('nape', [-80, 0, 0])] })).toEqual([]);
  });

  test('a ring about an axis: m = M·(r − R)/(q + R) on the far side', () => {
    // Centre 3.550088 from the z axis; the ring is 1 mm; the weight sits 50 mm out, opposite.
    const limits: Limits = { centreNear: { atMm: [0, 0, 0], axis: [0, 0, 1], radiusMm: 1 } };
    const [plan] = plans(limits, { places: [point('front', [50, 0, 0])] });
    expect(plan!.addedG).toBeCloseTo((M * (3.550088 - 1)) / (50 + 1), 3);
    expect(Math.hypot(plan!.after.centreMm[0], plan!.after.centreMm[1])).toBeCloseTo(1, 4);
  });

  test('a moment about an axis: what the servo cannot hold, less its arm', () => {
    // About y through the origin the head pulls 1051.115 g·mm · 9.80665e−3 = 10.308 N·mm.
    const limits: Limits = {
      moments: [{ name: 'neck', atMm: [0, 0, 0], axis: [0, 1, 0], mostNmm: 4, swings: false }],
    };
    const [plan] = plans(limits, { places: [point('front', [50, 0, 0])] });
    expect(plan!.addedG).toBeCloseTo((1051.115 * 9.80665e-3 - 4) / (50 * 9.80665e-3), 3);
  });

  test('nothing to do where all limits hold', () => {
    expect(plans({ centreMm: { min: [-10, null, null] } }, { places: [point('beak', [80, 0, 0])] })).toEqual([]);
  });

  test('where the mass limit forbids it, the balance alone is brought home, and that is said', () => {
    const [plan] = plans({ ...home, massG: 300 }, { places: [point('beak', [80, 0, 0])] });
    expect(plan!.addedG).toBeCloseTo(13.1389, 3);
    expect(plan!.holds).toBe(false);
  });
});

describe('moving what may be moved', () => {
  const home: Limits = { centreMm: { min: [0, null, null] } };
  const movable = [{ itemId: 'cell', minMm: [-40, -20, 0] as Vec3, maxMm: [40, 20, 30] as Vec3 }];

  test('two cells go forward by M·off/m and nothing is added', () => {
    const [plan] = plans(home, { movable, places: [point('beak', [80, 0, 0])] });
    expect(plan!.addedG).toBe(0);
    expect(plan!.moves).toHaveLength(1);
    expect(plan!.moves[0]!.byMm[0]).toBeCloseTo(1051.115 / 90, 4);
    expect(plan!.moves[0]!.byMm.slice(1)).toEqual([0, 0]);
    expect(plan!.after.centreMm[0]).toBeCloseTo(0, 6);
  });

  test('as far as their box lets them, and a counterweight for the rest; least added mass first', () => {
    const tight = [{ itemId: 'cell', minMm: [-40, -20, 0] as Vec3, maxMm: [-12, 20, 30] as Vec3 }];
    const found = plans(home, { movable: tight, places: [point('beak', [80, 0, 0])] });
    expect(found.map(({ addedG }) => Number(addedG.toFixed(3)))).toEqual([
      Number(((1051.115 - 8 * 90) / 80).toFixed(3)),
      Number((1051.115 / 80).toFixed(3)),
    ]);
    expect(found[0]!.moves[0]!.byMm[0]).toBeCloseTo(8, 6);
  });
});
