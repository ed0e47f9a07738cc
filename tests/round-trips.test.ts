import { gzipSync } from 'node:zlib';
import {
  bytesSource,
  type MeshFile,
  massProperties,
  readMesh,
  topology,
  transformMesh,
  unitToMm,
  writeStl,
} from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { partGlb, write3mf } from '@stonehand/report';
import fc from 'fast-check';
import { zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { ball, box, mushroom, tube } from '../packages/report/test/shapes.ts';

// What one package writes, another reads back: volume, counts, names and units stay.

const SHAPES: Readonly<Record<string, Mesh>> = {
  'a box': box(20, 30, 40),
  'a ball': ball(17.3, 24),
  'a tube': tube(12, 7.5, 31, 48),
  'a mushroom': mushroom(5, 15, 22, 4),
};

const SINGLE = 2 ** -22; // three coordinates rounded to 24 bits each, relative to the size of the part

async function read(name: string, bytes: Uint8Array): Promise<MeshFile> {
  return readMesh(bytesSource(name, bytes));
}

function counts(mesh: Mesh): object {
  const { closed, edges, components, euler } = topology(mesh);
  return {
    triangles: mesh.triangles.length / 3,
    vertices: mesh.positions.length / 3,
    closed,
    edges,
    components,
    euler,
  };
}

function expectSameShape(file: MeshFile, original: Mesh, share: number): void {
  const f = unitToMm(file.unit ?? 'mm');
  expect(counts(file.mesh)).toEqual(counts(original));
  const now = massProperties(file.mesh);
  const before = massProperties(original);
  expect(Math.abs((now.volumeMm3 * f ** 3) / before.volumeMm3 - 1)).toBeLessThanOrEqual(3 * share);
  expect(Math.abs((now.areaMm2 * f ** 2) / before.areaMm2 - 1)).toBeLessThanOrEqual(2 * share);
  for (const end of ['min', 'max'] as const) {
    for (let i = 0; i < 3; i++) {
      const off = Math.abs(now.boxMm[end][i]! * f - before.boxMm[end][i]!);
      expect(off).toBeLessThanOrEqual(
        share * Math.max(...before.boxMm.max.map(Math.abs), ...before.boxMm.min.map(Math.abs)),
      );
    }
  }
}

describe('write, then read', () => {
  for (const [name, mesh] of Object.entries(SHAPES)) {
    test(`${name} as binary STL, plain, gzipped and zipped`, async () => {
      const bytes = writeStl(mesh, name);
      const files = { 'a.stl': bytes, 'a.stl.gz': gzipSync(bytes), 'a.zip': zipSync({ 'a.stl': bytes }) };
      for (const [file, packed] of Object.entries(files)) {
        const back = await read(file, packed);
        expect([back.format, back.unit]).toEqual(['STL binary', undefined]);
        expectSameShape(back, mesh, SINGLE);
      }
    });

    test(`${name} as 3MF: unit, names, materials, and every digit`, async () => {
      const objects = [{ name, mesh, material: 1 }];
      const materials = [
        { name: 'grey & hard', colour: '#888888' },
        { name: '„weich“', colour: '#112233' },
      ];
      const back = await read('a.3mf', write3mf(objects, [{ object: 0 }], { materials }));
      expect([back.format, back.unit, back.names, back.materials, back.notes]).toEqual([
        '3MF',
        'millimeter',
        [name],
        materials.map((material) => material.name),
        [],
      ]);
      expectSameShape(back, mesh, 2 ** -50);
    });

    test(`${name} as GLB: metres, name, z up again`, async () => {
      const back = await read('a.glb', await partGlb(mesh, { name }));
      expect([back.format, back.unit, back.names]).toEqual(['glTF', 'meter', [name]]);
      expectSameShape(back, mesh, 2 * SINGLE); // divided by 1000 and rounded
    });
  }

  test('3MF items: each where its placement puts it, mirrored ones with positive volume', async () => {
    const mesh = box(10, 20, 30);
    const turn = [0, -1, 0, 100, 1, 0, 0, 50, 0, 0, 1, 0];
    const mirror = [-1, 0, 0, -40, 0, 1, 0, 0, 0, 0, 1, 5];
    const items = [{ object: 0, placement: turn }, { object: 0, placement: mirror }, { object: 0 }];
    const { mesh: back, names } = await read('a.3mf', write3mf([{ name: 'block', mesh }], items));
    expect(names).toEqual(['block', 'block', 'block']);
    expect(topology(back)).toMatchObject({ components: 3, closed: true, orientationConsistent: true });
    expect(massProperties(back).volumeMm3).toBeCloseTo(3 * 6000, 9);
    const boxes = [turn, mirror].map((placement) => massProperties(transformMesh(mesh, placement)).boxMm);
    expect(massProperties(back).boxMm.min[0]).toBe(Math.min(...boxes.map((b) => b.min[0])));
    expect(massProperties(back).boxMm.max[0]).toBe(Math.max(...boxes.map((b) => b.max[0])));
  });

  test('shapes of any size anywhere: STL written again is the same to the bit, 3MF keeps every coordinate', async () => {
    const shapes = Object.values(SHAPES);
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 0, max: shapes.length - 1 }),
        fc.double({ min: 0.01, max: 1000, noNaN: true }),
        fc.tuple(...[0, 1, 2].map(() => fc.double({ min: -500, max: 500, noNaN: true }))),
        async (which, size, [x, y, z]) => {
          const moved = transformMesh(shapes[which]!, [size, 0, 0, x!, 0, size, 0, y!, 0, 0, size, z!]);
          const stl = writeStl(moved, 'a');
          const once = writeStl((await read('a.stl', stl)).mesh, 'a'); // −0 has become +0
          expect(once.length).toBe(stl.length);
          expect(writeStl((await read('a.stl', once)).mesh, 'a')).toEqual(once);
          if (!topology(moved).closed) return; // rounding may join vertices of a small part far away
          const threemf = await read('a.3mf', write3mf([{ name: 'a', mesh: moved }], [{ object: 0 }]));
          expect(triangles(threemf.mesh)).toEqual(triangles(moved));
        },
      ),
      { seed: 20, numRuns: 25 },
    );
  });
});

/** Nine numbers per triangle, whatever the numbering of the vertices. */
function triangles(mesh: Mesh): number[] {
  return [...mesh.triangles].flatMap((v) => [...mesh.positions.subarray(3 * v, 3 * v + 3)]);
}
