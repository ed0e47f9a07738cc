import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { bytesSource, massProperties, readMesh, topology } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { cutMesh, type Plane, sectionOf } from '@stonehand/split';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ball, box, hollowBall, step, torus } from './solids.ts';

const MESHES = join(import.meta.dirname, '..', '..', '..', '..', 'shared', 'data', 'meshes');
const unit = (v: Vec3): Vec3 => {
  const length = Math.hypot(...v);
  return [v[0] / length, v[1] / length, v[2] / length];
};
const volume = (mesh: Mesh): number => massProperties(mesh).volumeMm3;

/** Closed, oriented, no edge with more than two faces; volumes add up. */
function expectCleanCut(mesh: Mesh, planes: readonly Plane[], { manifold = true } = {}): void {
  const pieces = cutMesh(mesh, planes);
  let sum = 0;
  for (const piece of pieces) {
    const found = topology(piece.mesh);
    expect(found.boundaryEdges).toBe(0);
    expect(found.misorientedEdges).toBe(0);
    if (manifold) expect(found.nonManifoldEdges).toBe(0);
    expect(volume(piece.mesh)).toBeGreaterThan(0);
    sum += volume(piece.mesh);
  }
  // 1e-9 of the size is snapped and caps follow it; sums of doubles add less than that.
  expect(Math.abs(sum / volume(mesh) - 1)).toBeLessThan(1e-8);
}

const solids: readonly (readonly [string, Mesh])[] = [
  ['a box', box([100, 40, 20])],
  ['a step', step()],
  ['a ball', ball(30)],
  ['a torus', torus(40, 12)],
  ['a hollow ball', hollowBall(30, 27)],
];

describe('sections have the areas that geometry gives', () => {
  test('a cube of side 10 by x + y + z = 15 is a regular hexagon of 129.903811 mm² (75·√3)', () => {
    const section = sectionOf(box([10, 10, 10]), { normal: unit([1, 1, 1]), offsetMm: 15 / Math.sqrt(3) })!;
    expect(section.areaMm2).toBeCloseTo(75 * Math.sqrt(3), 9);
    expect(section.lineMm).toBeCloseTo(6 * 7.0710678118654755, 9);
  });
  test('by x + y + z = 10 a triangle of 86.602540 mm² (50·√3), its corners on three corners of the cube', () => {
    const section = sectionOf(box([10, 10, 10]), { normal: unit([1, 1, 1]), offsetMm: 10 / Math.sqrt(3) })!;
    expect(section.areaMm2).toBeCloseTo(50 * Math.sqrt(3), 9);
  });
  test('a torus R 20 r 5 at z = 3 is a ring of 16 to 24 (1005.31 mm²), less what its polygons cut off', () => {
    const around = 256;
    const section = sectionOf(torus(20, 5, around, 256), { normal: [0, 0, 1], offsetMm: 3 })!;
    const polygon = (Math.sin((2 * Math.PI) / around) * around) / (2 * Math.PI);
    expect(section.rings).toHaveLength(2);
    // Chords of the 256-gon across lie up to r(1 − cos(π/256)) = 3.8e-4 mm inside: on a ring of that width 2·2π·20 times as much.
    expect(Math.abs(section.areaMm2 - polygon * 1005.309649)).toBeLessThan(2 * 2 * Math.PI * 20 * 3.8e-4 * 2);
  });
  test('a plane beside the part has no section', () => {
    expect(sectionOf(box([10, 10, 10]), { normal: [0, 0, 1], offsetMm: 11 })).toBeUndefined();
  });
});

describe('cutting conserves volume and closes every piece', () => {
  test.each(solids)('%s by any plane', (_, mesh) => {
    const component = fc.double({ min: -1, max: 1, noNaN: true });
    fc.assert(
      fc.property(
        fc.tuple(component, component, component),
        fc.double({ min: -0.9, max: 0.9, noNaN: true }),
        (n, share) => {
          fc.pre(Math.hypot(...n) > 0.1);
          const normal = unit(n);
          const centre = massProperties(mesh).centreMm!;
          const offsetMm = normal[0] * centre[0] + normal[1] * centre[1] + normal[2] * centre[2] + 20 * share;
          expectCleanCut(mesh, [{ normal, offsetMm }]);
        },
      ),
      { numRuns: 60, seed: 11 },
    );
  });
  test.each(solids)('%s by planes through its own vertices and edges', (_, mesh) => {
    for (let v = 0; v < mesh.positions.length / 3; v += 37) {
      for (const axis of [0, 1, 2]) {
        const normal = [0, 0, 0].map((__, d) => (d === axis ? 1 : 0)) as unknown as Vec3;
        expectCleanCut(mesh, [{ normal, offsetMm: mesh.positions[3 * v + axis]! }], { manifold: false });
      }
    }
  });
  test('three planes at once make eight pieces of a box, named in order', () => {
    const pieces = cutMesh(box([10, 10, 10]), [
      { normal: [1, 0, 0], offsetMm: 4 },
      { normal: [0, 1, 0], offsetMm: 5 },
      { normal: [0, 0, 1], offsetMm: 6 },
    ]);
    expect(pieces.map((p) => p.id).join('')).toBe('abcdefgh');
    expect(volume(pieces[0]!.mesh)).toBeCloseTo(4 * 5 * 6, 9);
    expect(volume(pieces[7]!.mesh)).toBeCloseTo(6 * 5 * 4, 9);
  });
  test('a cut on one piece leaves the others whole', () => {
    const pieces = cutMesh(box([30, 10, 10]), [
      { normal: [1, 0, 0], offsetMm: 10 },
      { normal: [0, 0, 1], offsetMm: 5, on: 'b' },
    ]);
    expect(pieces.map((p) => Math.round(volume(p.mesh)))).toEqual([1000, 1000, 1000]);
  });
  test('a cut in the face of a step drops nothing and doubles nothing', () => {
    const pieces = cutMesh(step(), [{ normal: [0, 0, 1], offsetMm: 10 }]);
    expect(pieces.map((p) => volume(p.mesh))).toEqual([40 * 15 * 10, 20 * 15 * 20]);
  });
  test('a cut in an outer face leaves the part whole', () => {
    expect(cutMesh(box([10, 10, 10]), [{ normal: [0, 0, 1], offsetMm: 10 }])).toHaveLength(1);
    expect(cutMesh(box([10, 10, 10]), [{ normal: [0, 0, 1], offsetMm: 0 }])).toHaveLength(1);
  });
  test('a torus cut across is one piece a side, or two bodies when they are wanted apart', () => {
    const plane: Plane = { normal: [1, 0, 0], offsetMm: 0 };
    expect(cutMesh(torus(40, 12), [plane])).toHaveLength(2);
    expect(cutMesh(torus(40, 12), [{ ...plane, offsetMm: 30 }], { separate: true })).toHaveLength(2);
    expect(cutMesh(torus(40, 12), [{ normal: [0, 1, 0], offsetMm: 5 }, plane], { separate: true }).length).toBe(4);
  });
  test('an open mesh is refused', () => {
    const whole = box([10, 10, 10]);
    const open = { ...whole, triangles: whole.triangles.slice(3) };
    expect(() => cutMesh(open, [{ normal: [1, 0, 0], offsetMm: 5 }])).toThrow(
      expect.objectContaining({ code: 'MESH_OPEN' }),
    );
  });
});

const SOUND = [
  'analytic_icosphere.stl',
  'analytic_torus.stl',
  'analytic_hollow_shell.stl',
  'analytic_cone.stl',
  'gearwheel.bin.stl',
  'knot2.stl',
];
describe.skipIf(!existsSync(MESHES))('reference meshes (skipped where ../shared/data is absent)', () => {
  test.each(SOUND)('%s is cut along its axes at nine heights', async (file) => {
    const bytes = readFileSync(join(MESHES, file));
    const { mesh } = await readMesh(bytesSource(file, bytes));
    expect(topology(mesh).boundaryEdges).toBe(0);
    const { min, max } = massProperties(mesh).boxMm;
    for (const axis of [0, 1, 2]) {
      const normal = [0, 0, 0].map((__, d) => (d === axis ? 1 : 0)) as unknown as Vec3;
      for (let k = 1; k < 10; k++) {
        expectCleanCut(mesh, [{ normal, offsetMm: min[axis]! + ((max[axis]! - min[axis]!) * k) / 10 }], {
          manifold: false,
        });
      }
    }
  });
});
