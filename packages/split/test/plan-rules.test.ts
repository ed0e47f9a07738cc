import { massProperties } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { type Bed, cutMesh, planSplit, type Region, sectionOf, slabPlanes } from '@stonehand/split';
import { describe, expect, test } from 'vitest';
import { box, hollowBall, step, torus, tube } from './solids.ts';

const BED: Bed = {
  usable: [
    [0, 0],
    [210, 0],
    [210, 210],
    [0, 210],
  ],
  heightMm: 200,
};
const volume = (mesh: Mesh): number => massProperties(mesh).volumeMm3;

describe('a symmetric part is found symmetric', () => {
  test('and halved where that does it: a ring of 240 across is cut through its middle, the halves alike', () => {
    const ring = torus(100, 20, 48, 12);
    const plan = planSplit(ring, [BED], { pieces: 2 });
    expect(plan.mirrors.length).toBeGreaterThanOrEqual(2);
    const [a, b] = cutMesh(ring, plan.planes).map((piece) => volume(piece.mesh));
    expect(a! / b!).toBeCloseTo(1, 3);
  });
  test('a box has three planes of symmetry, a step only the one across it', () => {
    expect(planSplit(box([100, 60, 40]), [BED]).mirrors).toHaveLength(3);
    const mirrors = planSplit(step(), [BED]).mirrors;
    expect(mirrors.map(({ normal, offsetMm }) => [...normal.map(Math.abs), offsetMm])).toEqual([[0, 1, 0, 7.5]]);
  });
});

describe('what the user says is kept', () => {
  const beam = box([400, 60, 40]);
  test('a stated cut is made as it is, and the search adds the rest', () => {
    const plan = planSplit(beam, [BED], { fixed: [{ normal: [1, 0, 0], offsetMm: 90 }] });
    expect(plan.planes[0]).toEqual({ normal: [1, 0, 0], offsetMm: 90 });
    expect(plan.pieces).toBeGreaterThanOrEqual(3);
  });
  test('no cut goes through a forbidden box, and cuts go round bores where they can', () => {
    const never: Region = { never: true, box: { min: [150, 0, 0], max: [250, 60, 40] } };
    const forbidden = planSplit(beam, [BED], { regions: [never] });
    for (const { normal, offsetMm } of forbidden.planes) {
      if (Math.abs(normal[0]) > 0.99) expect(offsetMm <= 150 || offsetMm >= 250).toBe(true);
    }
    const bore: Region = { fromMm: [200, 30, 0], toMm: [200, 30, 40], radiusMm: 8 };
    expect(planSplit(beam, [BED]).pieces).toBe(2);
    const beside = planSplit(beam, [BED], { regions: [bore] });
    expect(beside).toMatchObject({ pieces: 2, crossed: 0 });
  });
  test('a cut that must be made through what must not be cut is refused in words', () => {
    const never: Region = { never: true, box: { min: [150, 0, 0], max: [250, 60, 40] } };
    expect(() => planSplit(beam, [BED], { fixed: [{ normal: [1, 0, 0], offsetMm: 200 }], regions: [never] })).toThrow(
      expect.objectContaining({ code: 'SPLIT_IMPOSSIBLE' }),
    );
  });
  test('the side to show costs more: a slab is cut where its shown line is shorter', () => {
    // A tube longer than the bed: any cut across it is as long; one along it would show on its side.
    const plan = planSplit(tube(40, 37, 380), [BED], { showSide: [1, 0, 0] });
    for (const { normal } of plan.planes) expect(Math.abs(normal[2])).toBeGreaterThan(0.7);
  });
});

describe('against the plain rule of equal slabs', () => {
  test.each([
    ['a slab of 400 × 400', box([400, 400, 30])],
    ['a ring', torus(150, 40, 32, 12)],
    ['a hollow ball', hollowBall(140, 137)],
  ] as const)('%s: never more pieces, and the bound is kept', (_, mesh) => {
    const plan = planSplit(mesh, [BED]);
    const slabs = slabPlanes(mesh, [BED], {
      recipe: { support: 'auto', supportShare: 0.15, overhangFromVerticalDeg: 45, firstLayerMm: 0.2 },
    })!;
    expect(plan.pieces).toBeLessThanOrEqual(cutMesh(mesh, slabs).length);
    expect(plan.pieces).toBeGreaterThanOrEqual(plan.bound);
    expect(plan.slabs).toBe(cutMesh(mesh, slabs).length);
  });
});

test('a section of a cylinder of 64 sides has the area of its closed form within 1e-6', () => {
  // (64/2)·sin(2π/64)·(R² − r²), and 1/cos 30° more where the plane leans by 30° across two opposite corners.
  const flat = 32 * Math.sin(Math.PI / 32) * (40 ** 2 - 37 ** 2);
  const section = sectionOf(tube(40, 37, 200), {
    normal: [Math.sin(Math.PI / 6), 0, Math.cos(Math.PI / 6)],
    offsetMm: 90,
  })!;
  expect(section.areaMm2 / (flat / Math.cos(Math.PI / 6))).toBeCloseTo(1, 6);
});
