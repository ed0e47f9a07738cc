import type { Plan } from '@stonehand/model';
import { checkPlanJson, defaultShop, PLAN_SCHEMA_VERSION } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';

const AT = '2026-06-05T18:00:00+02:00';
const { printers, materials, recipes } = defaultShop();
const POSE = {
  id: 'p1',
  rotation: [1, 0, 0, 0, 1, 0, 0, 0, 1],
  offsetMm: [0, 0, 0],
  sizeMm: [10, 10, 10],
  heightMm: 10,
  supportMm3: 0,
  scarMm2: 0,
  contactMm2: 100,
  overhangMm2: 0,
  tipDeg: 45,
  reason: 'flat side down',
} as const;
const FIGURE = { value: 12, low: 11, high: 13, from: 'cube' };
const PLAN: Plan = {
  schemaVersion: PLAN_SCHEMA_VERSION,
  madeBy: 'stonehand 0.1.0',
  name: 'Cube',
  planFrom: AT,
  timeZone: 'Europe/Berlin',
  unitsShown: 'metric',
  seed: 1,
  inputsHash: 'abc',
  printers,
  materials,
  recipes,
  spools: [{ id: 'S1', materialId: 'pla', netG: 500, lowG: 480, highG: 520, from: 'net, as stated' }],
  hardware: [{ item: { id: 'M3 nut', name: 'nut', massG: 0.39, magnetic: true }, quantity: 4 }],
  parts: [
    {
      id: 'cube',
      name: 'cube',
      assemblyId: '.',
      meshFile: 'cube.stl',
      quantity: 1,
      materialId: 'pla',
      recipeId: 'standard',
      status: 'print',
      pieceIds: ['cube'],
      poses: [POSE],
    },
  ],
  readings: [],
  pieces: [
    {
      id: 'cube',
      partId: 'cube',
      meshHash: 'x',
      quantity: 1,
      materialId: 'pla',
      recipeId: 'standard',
      pose: POSE,
      footprint: [
        [
          [0, 0],
          [10, 0],
          [10, 10],
        ],
      ],
      partFromPiece: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
      joints: [],
    },
  ],
  estimates: [],
  plates: [
    {
      id: 'h',
      name: 'cube on bed',
      printerId: 'bed',
      materialIds: ['pla'],
      recipeId: 'standard',
      placed: [{ copyId: 'cube#1', xMm: 5, yMm: 5, turnDeg: 0 }],
      heightMm: 10,
      usedShare: 0.01,
      massG: FIGURE,
      durationS: FIGURE,
    },
  ],
  runs: [
    {
      id: 'r1',
      plateId: 'h',
      printerId: 'bed',
      attendFrom: AT,
      start: AT,
      watchedUntil: AT,
      end: AT,
      unloadFrom: AT,
      unloadEnd: AT,
      unattended: false,
      state: 'planned',
      spools: [{ spoolId: 'S1', massG: 12 }],
    },
  ],
  presence: [{ from: AT, to: AT, kind: 'present' }],
  todo: [{ from: AT, to: AT, what: 'start', printerId: 'bed', runId: 'r1', plateId: 'h', says: 'Start cube.' }],
  searches: [{ what: 'plates', value: 1, bound: 1, rounds: 10, seed: 1, ended: 'proven' }],
  fits: [{ partId: 'cube', printerId: 'bed', verdict: 'asIs' }],
  buy: [{ materialId: 'pla', needG: FIGURE, shelfG: 500, spools: 0 }],
  buyAll: [],
  mass: [
    {
      assemblyId: '.',
      name: 'Cube',
      massG: FIGURE,
      centreMm: [5, 5, 5],
      inertiaGMm2: [1, 1, 1, 0, 0, 0],
      printedG: 12,
      boughtG: 0,
      byMaterialG: { pla: 12 },
      byPartG: { cube: 12 },
      children: [],
      limits: [],
      missing: [],
    },
  ],
  waiting: [{ copyId: 'cube#1', reason: 'longer than tonight' }],
  assumed: [],
  cautions: [],
};

describe('plan.json', () => {
  test('a plan comes through its JSON form', () => {
    expect(checkPlanJson(JSON.parse(JSON.stringify(PLAN)))).toEqual(JSON.parse(JSON.stringify(PLAN)));
  });

  test('members that a later minor version adds are let through', () => {
    const later = {
      ...PLAN,
      schemaVersion: PLAN_SCHEMA_VERSION + 0.5,
      weather: 'rain',
      runs: [{ ...PLAN.runs[0]!, noise: 3 }],
    };
    expect(checkPlanJson(later)).toBe(later);
  });

  test('a newer major version is refused in one line, whatever else it holds', () => {
    expect(() => checkPlanJson({ schemaVersion: PLAN_SCHEMA_VERSION + 1 })).toThrow(
      expect.objectContaining({
        code: 'VERSION_NEWER',
        message: 'the plan has schema version 2; this program reads 1',
      }),
    );
  });

  test.each([
    ['no plan at all', null, 'the plan must be object'],
    ['a member that is missing', { ...PLAN, runs: undefined }, "the plan must have required property 'runs'"],
    [
      'NaN, which JSON writes as null',
      { ...PLAN, fits: [{ ...PLAN.fits[0]!, turnDeg: null }] },
      'fits/0/turnDeg must be number',
    ],
    ['a local time', { ...PLAN, planFrom: '2026-06-05T18:00:00' }, /^planFrom must match pattern/],
    [
      'a pose of eight numbers',
      { ...PLAN, parts: [{ ...PLAN.parts[0]!, poses: [{ ...POSE, rotation: POSE.rotation.slice(1) }] }] },
      /^parts\/0\/poses\/0\/rotation must NOT have fewer/,
    ],
  ])('%s is named', (_, value, message) => {
    const json: unknown = value === null ? null : JSON.parse(JSON.stringify(value));
    expect(() => checkPlanJson(json)).toThrow(message);
  });
});
