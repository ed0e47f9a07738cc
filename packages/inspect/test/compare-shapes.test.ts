import { existsSync, readFileSync } from 'node:fs';
import { affineOf, applyAffine, rotationOfTurns } from '@stonehand/base';
import { compareShapes, shapeKey, surfaceDistance } from '@stonehand/inspect';
import { bytesSource, readMesh, transformMesh } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { box, column, handed, mirroredX, scaledBy, shifted, shuffled, together, tube } from './solids.ts';

const DATA = '../shared/data/meshes';
const turn = (x: number, y: number, z: number, dx = 0, dy = 0, dz = 0): number[] =>
  affineOf(rotationOfTurns([x, y, z]), [dx, dy, dz]) as number[];

describe('the same shape', () => {
  test('is found whatever the order of triangles, the turn and the place', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 359 }),
        fc.integer({ min: 0, max: 359 }),
        fc.integer({ min: 0, max: 359 }),
        fc.integer({ min: -300, max: 300 }),
        (x, y, z, d) => {
          const moved = transformMesh(shuffled(handed(), x + 1), turn(x, y, z, d, -d, 7));
          const found = compareShapes(handed(), moved, { samples: 300 });
          expect(found).toMatchObject({ same: true, mirrored: false, scale: 1 });
          // and the motion given carries a's corners onto b's surface
          expect(surfaceDistance(transformMesh(handed(), found.aToB), moved, { samples: 300 }).maxMm).toBeLessThan(
            1e-6,
          );
        },
      ),
      { seed: 31, numRuns: 25 },
    );
  });

  test.each([
    ['numbers of a in inch read as mm', 25.4],
    ['numbers of a in mm read as inch', 1 / 25.4],
    ['numbers of a in m read as mm', 1000],
    ['numbers of a in cm read as mm', 10],
    ['numbers of a in foot read as mm', 304.8],
  ])('in another unit is named: %s', (says, factor) => {
    const b = transformMesh(scaledBy(handed(), factor), turn(20, 130, 250, 5, 6, 7));
    const found = compareShapes(handed(), b);
    expect(found).toMatchObject({ same: true, mirrored: false, unitRatio: says });
    expect(found.scale).toBeCloseTo(factor, 12);
  });

  test('that was rescaled by no unit’s ratio is the same at that scale', () => {
    const found = compareShapes(handed(), scaledBy(handed(), 0.93));
    expect(found.same).toBe(true);
    expect(found.unitRatio).toBeUndefined();
    expect(found.scale).toBeCloseTo(0.93, 9);
  });

  test('as a mirror image is told apart, wherever it stands', () => {
    for (const m of [turn(0, 0, 0), turn(40, 70, 200, 9, 8, 7)]) {
      const found = compareShapes(handed(), transformMesh(mirroredX(handed()), m));
      expect(found).toMatchObject({ same: true, mirrored: true });
      const corner = applyAffine(found.aToB, [0, 0, 0]);
      const there = applyAffine(m, [0, 0, 0]);
      for (let k = 0; k < 3; k++) expect(corner[k]).toBeCloseTo(there[k]!, 6);
    }
  });

  test('that is its own mirror image is not called mirrored', () => {
    for (const mesh of [box([10, 20, 30]), tube(5, 8, 20, 24), column(6, 9, 6)]) {
      expect(compareShapes(mesh, transformMesh(mirroredX(mesh), turn(15, 25, 35)))).toMatchObject({
        same: true,
        mirrored: false,
      });
    }
  });

  test('is found for bodies without distinct axes: cube, round tube, hexagon, three equal arms', () => {
    const arms = together(box([30, 4, 4]), box([4, 30, 4], [-6, 6, 6]), box([4, 4, 30], [-12, 12, 12]));
    for (const mesh of [box([10, 10, 10]), tube(5, 8, 20, 48), column(6, 9, 6), arms]) {
      expect(compareShapes(mesh, transformMesh(shuffled(mesh, 5), turn(33, 77, 140, 1, 2, 3)))).toMatchObject({
        same: true,
        mirrored: false,
      });
    }
  });

  test('in place is marked as unmoved', () => {
    expect(compareShapes(handed(), shuffled(handed(), 9)).inPlace).toBe(true);
    expect(compareShapes(handed(), shifted(handed(), [1, 0, 0])).inPlace).toBe(false);
  });

  test('is found after flats were divided otherwise', () => {
    const cut = box([10, 20, 30]);
    const other = { ...cut, triangles: Uint32Array.from([...cut.triangles]) };
    // the first flat's diagonal goes the other way: 0 2 3 1 → 0 2 1 and 2 3 1
    other.triangles.set([0, 2, 1, 2, 3, 1], 0);
    expect(compareShapes(cut, transformMesh(other, turn(10, 20, 30)))).toMatchObject({ same: true });
  });
});

describe('a changed shape', () => {
  test('is not the same, stays in place, and the change is measured: a box 2 mm longer', () => {
    const found = compareShapes(box([40, 20, 10]), box([42, 20, 10]));
    expect(found).toMatchObject({ same: false, mirrored: false, inPlace: true, scale: 1 });
    expect(found.distance.maxMm).toBeCloseTo(2, 6); // corners are among the points
    expect(found.volumeMm3).toEqual([8000, 8400]);
    expect(found.areaMm2[1] - found.areaMm2[0]).toBeCloseTo(2 * 2 * (20 + 10), 6);
  });

  test('the mean distance of two balls of 10 and 10.5 mm is 0.5 mm within its stated error and the facets’ sagitta', () => {
    const ball = (r: number): Mesh => {
      const steps = 48;
      const p: number[] = [];
      for (let i = 1; i < steps; i++)
        for (let k = 0; k < 96; k++) {
          const [a, b] = [(Math.PI * i) / steps, (2 * Math.PI * k) / 96];
          p.push(r * Math.sin(a) * Math.cos(b), r * Math.sin(a) * Math.sin(b), -r * Math.cos(a));
        }
      p.push(0, 0, -r, 0, 0, r);
      const bottom = p.length / 3 - 2;
      const t: number[] = [];
      for (let k = 0; k < 96; k++) {
        const n = (k + 1) % 96;
        t.push(bottom, n, k, bottom + 1, (steps - 2) * 96 + k, (steps - 2) * 96 + n);
        for (let i = 0; i < steps - 2; i++)
          t.push(i * 96 + k, i * 96 + n, (i + 1) * 96 + n, i * 96 + k, (i + 1) * 96 + n, (i + 1) * 96 + k);
      }
      return { positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] };
    };
    const distance = surfaceDistance(ball(10), ball(10.5));
    const sagitta = 10.5 * (1 - Math.cos(Math.PI / 48)); // of the coarsest facet, from corner to middle
    expect(Math.abs(distance.meanMm - 0.5)).toBeLessThan(4 * distance.meanErrorMm + sagitta);
    expect(distance.maxMm).toBeLessThan(0.5 + sagitta);
  });

  test('that was moved and changed is brought back before it is measured', () => {
    const a = handed();
    const b = transformMesh(together(handed(), box([2, 2, 2], [30, 3, 8.5])), turn(30, 200, 75, 40, 50, 60));
    const found = compareShapes(a, b);
    expect(found.same).toBe(false);
    expect(found.mirrored).toBe(false);
    // 24 mm² of new skin at most 2 mm away, on 2800 mm²: without alignment the mean would be centimetres
    expect(found.distance.meanMm).toBeLessThan(0.15);
    expect(found.distance.maxMm).toBeGreaterThan(1.5);
  });

  test('of nothing is refused', () => {
    const none = { ...box([1, 1, 1]), triangles: new Uint32Array(0) };
    expect(() => compareShapes(none, box([1, 1, 1]))).toThrow(expect.objectContaining({ code: 'MESH_EMPTY' }));
  });
});

describe('the shape’s key', () => {
  test('does not see the order of triangles or vertices, nor single precision of the same numbers', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        expect(shapeKey(shuffled(handed(), seed))).toBe(shapeKey(handed()));
      }),
      { seed: 41, numRuns: 40 },
    );
    const coarse = { ...handed(), positions: Float32Array.from(handed().positions) };
    expect(shapeKey(coarse)).toBe(shapeKey({ ...coarse, positions: Float64Array.from(coarse.positions) }));
  });

  test('sees a moved corner, a turned facet and a place', () => {
    const keys = [
      handed(),
      mirroredX(handed()),
      shifted(handed(), [1e-6, 0, 0]),
      { ...handed(), triangles: handed().triangles.slice().reverse() },
    ].map(shapeKey);
    expect(new Set(keys).size).toBe(4);
  });

  test('takes −0 for 0', () => {
    const flat = box([1, 1, 1]);
    expect(shapeKey({ ...flat, positions: flat.positions.map((v) => (v === 0 ? -0 : v)) })).toBe(shapeKey(flat));
  });
});

describe.skipIf(!existsSync(DATA))('reference meshes (skipped where ../shared/data/meshes is absent)', () => {
  const load = async (name: string): Promise<Mesh> =>
    (await readMesh(bytesSource(name, readFileSync(`${DATA}/${name}`)))).mesh;

  test.each([
    'gearwheel.bin.stl',
    'spot.obj',
    'knot2.stl',
    'featuretype.ply',
    'analytic_torus.stl',
    'analytic_icosphere.stl',
    'analytic_tilted_rod.stl',
  ])('%s is itself after shuffling, turning and a change to inches', async (name) => {
    const mesh = await load(name);
    const other = transformMesh(shuffled(scaledBy(mesh, 25.4), 3), turn(12, 100, 211, 3, 4, 5));
    expect(compareShapes(mesh, other, { samples: 500 })).toMatchObject({
      same: true,
      mirrored: false,
      unitRatio: 'numbers of a in inch read as mm',
    });
  });

  test('the part whose STL has cracks is the part of its PLY (exact weld leaves 576 open edges; reference.json)', async () => {
    const found = compareShapes(await load('featuretype_cracked.stl'), await load('featuretype.ply'));
    expect(found.same).toBe(true);
    expect(found.inPlace).toBe(true);
  });

  test('a cow is not a gear wheel', async () => {
    expect(compareShapes(await load('spot.obj'), await load('gearwheel.bin.stl'), { samples: 300 }).same).toBe(false);
  });

  test('a cow seen in a mirror is the same cow', async () => {
    const mesh = await load('spot.obj');
    expect(compareShapes(mesh, mirroredX(mesh)).same).toBe(true);
  });
});
