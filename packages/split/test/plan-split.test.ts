import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { boundingBox, bytesSource, massProperties, readMesh, transformMesh } from '@stonehand/mesh';
import type { Mesh, Ring } from '@stonehand/model';
import { fitHull } from '@stonehand/orient';
import { type Bed, cutMesh, planSplit, type SplitPlan } from '@stonehand/split';
import { describe, expect, test } from 'vitest';
import { ball, box, hollowBall, torus } from './solids.ts';

const MESHES = join(import.meta.dirname, '..', '..', '..', '..', 'shared', 'data', 'meshes');
const rectangle = (x: number, y: number): Ring => [
  [0, 0],
  [x, 0],
  [x, y],
  [0, y],
];
const bed = (x: number, y: number, heightMm: number): Bed => ({ usable: rectangle(x, y), heightMm });
const BENCH = bed(210, 210, 250);

/** Stands one of three ways up, turned as it likes: a judge of its own, weaker than the search's. */
function fitsUpright(mesh: Mesh, { usable, heightMm }: Bed, tiltsDeg: readonly number[]): boolean {
  const ways = [
    [0, 1, 2],
    [1, 2, 0],
    [2, 0, 1],
  ] as const;
  return ways.some(([a, b, up]) =>
    tiltsDeg.some((deg) => {
      const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
      const xy: number[] = [];
      let low = Infinity;
      let high = -Infinity;
      for (let i = 0; i < mesh.positions.length; i += 3) {
        const [p, q, r] = [mesh.positions[i + a]!, mesh.positions[i + b]!, mesh.positions[i + up]!];
        xy.push(c * p - s * r, q);
        low = Math.min(low, s * p + c * r);
        high = Math.max(high, s * p + c * r);
      }
      return high - low <= heightMm && fitHull(xy, usable).fits;
    }),
  );
}

/** Every piece fits standing on an axis, if need be tipped by whole degrees. */
function expectAllFit(mesh: Mesh, plan: SplitPlan, beds: readonly Bed[]): void {
  const pieces = cutMesh(mesh, plan.planes);
  expect(pieces).toHaveLength(plan.pieces);
  expect(plan.bound).toBeLessThanOrEqual(plan.pieces);
  const tilts = Array.from({ length: 180 }, (_, deg) => deg);
  for (const piece of pieces) {
    expect(beds.some((b) => fitsUpright(piece.mesh, b, [0]) || fitsUpright(piece.mesh, b, tilts))).toBe(true);
  }
  const sum = pieces.reduce((total, piece) => total + massProperties(piece.mesh).volumeMm3, 0);
  expect(Math.abs(sum / massProperties(mesh).volumeMm3 - 1)).toBeLessThan(1e-8);
}

describe('a part that fits stays whole', () => {
  test('a plank of 290 × 20 lies across a bed of 220 × 220, whose longest place for that width is 291.127', () => {
    const plan = planSplit(box([290, 20, 4]), [bed(220, 220, 5)]);
    expect(plan.planes).toEqual([]);
    expect(plan.search.ended).toBe('proven');
  });
  test('a rod too long to lie stands upright', () => {
    expect(planSplit(box([20, 20, 390]), [bed(220, 220, 400)]).pieces).toBe(1);
  });
});

describe('a part that does not fit is cut into few pieces', () => {
  test('a beam of 480 on a bed whose longest rod is 387 takes two, and that is proven', () => {
    const mesh = box([480, 30, 30]);
    const plan = planSplit(mesh, [BENCH]);
    // Longest rod: √(210² + 210² + 250²) = 387.8; 480/387.8 rounds up to 2.
    expect(plan).toMatchObject({ pieces: 2, bound: 2 });
    expect(plan.search.ended).toBe('proven');
    expectAllFit(mesh, plan, [BENCH]);
  });
  test('a beam of 1500 takes at least four, and six when each lies across the plate', () => {
    const mesh = box([1500, 30, 30]);
    const plan = planSplit(mesh, [BENCH]);
    expect(plan.bound).toBe(4);
    // Lying across: 210·√2 − 30 = 266.98; 1500/266.98 rounds up to 6.
    expect(plan.pieces).toBeLessThanOrEqual(6);
    expectAllFit(mesh, plan, [BENCH]);
  });
  test('a slab larger both ways is quartered', () => {
    const mesh = box([400, 400, 30]);
    const plan = planSplit(mesh, [bed(210, 210, 205)]);
    expect(plan.pieces).toBe(4);
    expectAllFit(mesh, plan, [bed(210, 210, 205)]);
  });
  test.each([
    ['a ball', ball(140, 12, 16)],
    ['a hollow ball', hollowBall(140, 137)],
    ['a ring', torus(150, 40, 32, 12)],
  ] as const)('%s of 280 to 380 mm', (_, mesh) => {
    const plan = planSplit(mesh, [BENCH]);
    expectAllFit(mesh, plan, [BENCH]);
    expect(plan.pieces).toBeLessThanOrEqual(8);
  });
  test('exactly as many pieces as asked for', () => {
    const mesh = box([300, 40, 40]);
    const plan = planSplit(mesh, [BENCH], { pieces: 3 });
    expect(cutMesh(mesh, plan.planes)).toHaveLength(3);
  });
  test('the larger bed of two may take what the smaller cannot', () => {
    expect(planSplit(box([280, 280, 40]), [BENCH, bed(290, 290, 390)]).pieces).toBe(1);
  });
  test('the brim counts', () => {
    expect(planSplit(box([208, 208, 200]), [bed(210, 210, 250)]).pieces).toBe(1);
    expect(planSplit(box([208, 208, 200]), [bed(210, 210, 250)], { brimMm: 5 }).pieces).toBe(2);
  });
  test('what would take too many pieces is refused in words', () => {
    expect(() => planSplit(box([2000, 30, 30]), [BENCH], { mostPieces: 3 })).toThrow(
      expect.objectContaining({ code: 'SPLIT_IMPOSSIBLE' }),
    );
  });
  test('the same seed gives the same cuts', () => {
    const mesh = torus(150, 40, 24, 8);
    expect(planSplit(mesh, [BENCH], { seed: 5 })).toEqual(planSplit(mesh, [BENCH], { seed: 5 }));
  });
});

describe.skipIf(!existsSync(MESHES))(
  'reference meshes scaled to 400 mm (skipped where ../shared/data is absent)',
  () => {
    test.each([
      'gearwheel.bin.stl',
      'knot2.stl',
      'analytic_torus.stl',
      'analytic_hollow_shell.stl',
      'analytic_cone.stl',
    ])('%s', async (file) => {
      const { mesh } = await readMesh(bytesSource(file, readFileSync(join(MESHES, file))));
      const { min, max } = boundingBox(mesh);
      const s = 400 / Math.max(...[0, 1, 2].map((d) => max[d]! - min[d]!));
      const large = transformMesh(mesh, [s, 0, 0, 0, 0, s, 0, 0, 0, 0, s, 0]);
      expectAllFit(large, planSplit(large, [BENCH], { rounds: 2, beam: 2 }), [BENCH]);
    });
  },
);
