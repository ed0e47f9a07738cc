import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Reading } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { freshFolder, ROOT, SHARED_DATA, stonehand } from './helpers/stonehand.ts';

const MESHES = join(SHARED_DATA, 'meshes');
const absent = !existsSync(join(MESHES, 'reference.json'));

type Reference = Readonly<{
  watertight: boolean;
  orientation_consistent: boolean;
  collapsed_faces: number;
  triangles: number;
  unique_vertices_float32: number;
  boundary_edges: number;
  nonmanifold_edges: number;
  components_by_vertex: number;
  euler: number;
  volume: number;
  area: number;
  center_of_mass: readonly number[];
  inertia_about_com: readonly (readonly number[])[];
  expect?: string;
}>;

// Made by VTK 9.1.0, Open3D 0.16.1, CGAL 5.5.1, ODE 0.16.2, numpy 1.24.2 and manifold-3d 3.5.4; see the README beside the data.
describe.skipIf(absent)('measure --json on the reference STL files (skipped where ../shared/data is absent)', () => {
  const references: Record<string, Reference> = absent
    ? {}
    : JSON.parse(readFileSync(join(MESHES, 'reference.json'), 'utf8')).meshes;
  const sound = Object.keys(references).filter((file) => {
    const reference = references[file]!;
    return (
      file.endsWith('.stl') &&
      reference.watertight &&
      reference.orientation_consistent &&
      reference.expect !== 'fail' &&
      !file.startsWith('broken_')
    );
  });
  const rows: Reading[] = absent
    ? []
    : JSON.parse(stonehand(['measure', ...sound.map((file) => join(MESHES, file)), '--json']).out);

  test('there is one row a file, in the order of the names', () => {
    expect(sound.length).toBeGreaterThan(12);
    expect(rows.map(({ file }) => file)).toEqual(sound.map((file) => join(MESHES, file)));
  });

  test.each(sound)('%s: counts exactly, volume, area, centre and inertia to 1e-6', (file) => {
    const row = rows[sound.indexOf(file)]!;
    const reference = references[file]!;
    expect([row.triangles, row.vertices, row.boundaryEdges, row.nonManifoldEdges, row.components, row.euler]).toEqual([
      reference.triangles,
      reference.unique_vertices_float32,
      reference.boundary_edges,
      reference.nonmanifold_edges,
      reference.components_by_vertex,
      reference.euler,
    ]);
    expect(row.closed).toBe(true);
    // An inverted mesh is told as if it were turned back.
    const sign = Math.sign(reference.volume);
    const sizeMm = Math.max(...row.boxMm.max.map((max, k) => max - row.boxMm.min[k]!));
    expect(Math.abs(row.volumeMm3! - sign * reference.volume)).toBeLessThan(1e-6 * Math.abs(reference.volume));
    expect(Math.abs(row.areaMm2 - reference.area)).toBeLessThan(1e-6 * reference.area);
    for (let k = 0; k < 3; k++)
      expect(Math.abs(row.centreMm![k]! - reference.center_of_mass[k]!)).toBeLessThan(1e-6 * sizeMm);
    const t = reference.inertia_about_com;
    const tensor = [t[0]![0]!, t[1]![1]!, t[2]![2]!, t[0]![1]!, t[1]![2]!, t[2]![0]!].map((value) => sign * value);
    const scale = Math.max(...tensor.map(Math.abs));
    for (let k = 0; k < 6; k++) expect(Math.abs(row.inertiaMm5![k]! - tensor[k]!)).toBeLessThan(1e-6 * scale);
  });
});

describe('the second reading, by node-stl', () => {
  const demo = readdirSync(join(ROOT, 'parts/heron/neck')).filter((file) => file.endsWith('.stl'));

  test('agrees on the demo parts', () => {
    const rows: Reading[] = JSON.parse(
      stonehand(['measure', ...demo.map((file) => join(ROOT, 'parts/heron/neck', file)), '--second-reading', '--json'])
        .out,
    );
    expect(rows.length).toBeGreaterThan(0);
    for (const { secondReading } of rows)
      expect(secondReading).toMatchObject({ differs: [], believe: 'either', closed: true });
  });

  test('a mesh with a missing triangle: both call it open, and neither volume is to be believed', () => {
    const bytes = Uint8Array.from(readFileSync(join(ROOT, 'parts/heron/neck', demo[0]!)));
    const count = new DataView(bytes.buffer).getUint32(80, true) - 1;
    new DataView(bytes.buffer).setUint32(80, count, true);
    const file = join(freshFolder('second'), 'open.stl');
    writeFileSync(file, bytes.subarray(0, 84 + 50 * count));
    const ran = stonehand(['measure', file, '--second-reading', '--json']);
    const [row] = JSON.parse(ran.out) as Reading[];
    expect(ran.code).toBe(1);
    expect(row).toMatchObject({ closed: false, volumeDefined: false, grade: 'untrusted' });
    expect(row!.secondReading!.closed).toBe(false);
  });

  test('of a file that it cannot read says so', () => {
    const [row] = JSON.parse(
      stonehand(['measure', join(ROOT, 'parts/heron/neck/vertebra.3mf'), '--second-reading', '--json']).out,
    ) as Reading[];
    expect(row!.secondReading).toMatchObject({ believe: 'first', differs: ['read'] });
  });
});
