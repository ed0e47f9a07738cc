import { checkJoints } from '@stonehand/inspect';
import type { Joint, Mesh } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { box, column, shifted, tube } from './solids.ts';

const joint = (kind: Joint['kind'], more: Partial<Joint> = {}): Joint => ({
  id: 'j',
  kind,
  between: ['hub', 'pin'],
  atMm: [0, 0, 10],
  axis: [0, 0, 1],
  diameterMm: 10,
  lengthMm: 20,
  ...more,
});
const SIDES = 64;
const hub = tube(5.2, 9, 20, SIDES);
const pin = (radius: number): Mesh => shifted(column(radius, 30, SIDES), [0, 0, -5]);
const check = (j: Joint, pinMesh: Mesh, hubMesh: Mesh = hub) =>
  checkJoints(
    [j],
    new Map([
      ['hub', hubMesh],
      ['pin', pinMesh],
    ]),
  )[0]!;

describe('a pin in a hub', () => {
  test('with 0.2 mm a side is found, measured and not complained about', () => {
    const found = check(joint('turning', { gapPerSideMm: 0.2 }), pin(5));
    expect(found.findings).toEqual([]);
    expect(found.overlapMm).toBe(0);
    expect(found.fit!.gapPerSideMm).toBeCloseTo(0.2, 9);
    expect(found.fit!.freeGapPerSideMm).toBeCloseTo(5.2 * Math.cos(Math.PI / SIDES) - 5, 9);
    expect(found.fit!.bored).toBe('hub');
    expect(found.fit!.offAxisMm).toBeCloseTo(0, 9);
    // Facets face each other: least distance is the bore's flat against the pin's flat beside it, sampled from above.
    expect(found.distanceMm).toBeGreaterThan(0.18);
    expect(found.distanceMm).toBeLessThan(0.205);
  });

  test('that is too thick overlaps by what it is too thick', () => {
    const found = check(joint('turning', { gapPerSideMm: 0.2 }), pin(5.5));
    const codes = found.findings.map((f) => f.code);
    expect(codes).toContain('JOINT_OVERLAP');
    expect(codes).toContain('JOINT_GAP');
    expect(found.distanceMm).toBe(0);
    expect(found.overlapMm).toBeGreaterThan(0.28);
    expect(found.overlapMm).toBeLessThanOrEqual(0.5 - 0.2 + 5.2 * (1 - Math.cos(Math.PI / SIDES)) + 1e-9);
  });

  test('pressed in by 0.1 mm is a push fit and no fault', () => {
    expect(check(joint('pushFit', { gapPerSideMm: -0.1 }), pin(5.3)).findings).toEqual([]);
  });

  test('whose gap is not what is stated is doubted', () => {
    expect(check(joint('turning', { gapPerSideMm: 0.4 }), pin(5)).findings.map((f) => f.code)).toEqual(['JOINT_GAP']);
  });

  test('with no free way between corners and flats will bind', () => {
    const coarse = tube(5.2, 9, 20, 12); // flats at 5.02
    const found = check(joint('turning', { gapPerSideMm: 0.2 }), pin(5), coarse);
    expect(found.findings.map((f) => f.code)).toContain('JOINT_BINDS');
  });

  test('beside its hub is off the axis and overlaps', () => {
    const found = check(joint('turning', { gapPerSideMm: 0.2 }), shifted(pin(5), [0.45, 0, 0]));
    expect(found.fit!.offAxisMm).toBeCloseTo(0.45, 9);
    expect(found.overlapMm).toBeGreaterThan(0.2);
  });
});

describe('flat joints', () => {
  const left = box([20, 20, 20]);
  const flat = joint('glue', { between: ['a', 'b'], atMm: [20, 10, 10], axis: [1, 0, 0] });
  const pair = (b: Mesh, j: Joint = flat) =>
    checkJoints(
      [j],
      new Map([
        ['a', left],
        ['b', b],
      ]),
    )[0]!;

  test('that touch are in order', () => {
    expect(pair(box([20, 20, 20], [20, 0, 0]))).toMatchObject({ overlapMm: 0, distanceMm: 0, findings: [] });
  });

  test('with a glue gap as stated are in order, apart they are not', () => {
    const near = pair(box([20, 20, 20], [20.1, 0, 0]), { ...flat, gapPerSideMm: 0.1 });
    expect(near.distanceMm).toBeCloseTo(0.1, 9);
    expect(near.findings).toEqual([]);
    const far = pair(box([20, 20, 20], [24, 0, 0]));
    expect(far.distanceMm).toBeCloseTo(4, 9);
    expect(far.findings.map((f) => f.code)).toEqual(['JOINT_APART']);
  });

  test('that run into each other by 1.5 mm are stopped, with the place', () => {
    const found = pair(box([20, 16, 16], [18.5, 2, 2]));
    expect(found.findings).toMatchObject([{ code: 'JOINT_OVERLAP', severity: 'stop' }]);
    expect(found.overlapMm).toBeCloseTo(1.5, 6);
    expect(found.overlapAtMm![0]).toBeGreaterThanOrEqual(18.5);
    expect(found.overlapAtMm![0]).toBeLessThanOrEqual(20);
  });

  test('a part without a mesh is a note', () => {
    expect(checkJoints([flat], new Map([['a', left]]))[0]!.findings).toMatchObject([
      { code: 'JOINT_UNPLACED', severity: 'note', says: expect.stringContaining('b has no mesh') },
    ]);
  });
});
