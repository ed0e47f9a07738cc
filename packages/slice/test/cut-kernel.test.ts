import { existsSync, readdirSync } from 'node:fs';
import type { LayerLoops, Mesh } from '@stonehand/model';
import { sectionsAt, sliceMesh } from '@stonehand/slice';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ball, block, insideOut, merged, meshOf, REFERENCE, readReference, torus } from './shapes.ts';

const LAYERS = { layerMm: 0.2, firstLayerMm: 0.3 };

describe('the compiled kernel cuts like plain code, to the bit', () => {
  test.each<[string, Mesh]>([
    ['a ball', ball(10, 48, 24)],
    ['a torus in single precision', single(torus(20, 5, 60, 24))],
    ['two blocks that share a vertical edge', merged(block(10, 10, 10), block(10, 10, 10, 10, 10))],
    ['overlapping bodies, one inside out', merged(ball(10, 32, 16), insideOut(block(8, 8, 8, -4, -4, -4)))],
    ['a block with a triangle that has two corners on one vertex', withCollapsed(block(4, 5, 6))],
    ['no triangles at all', meshOf([0, 0, 0], [])],
  ])('%s', (_, mesh) => expectSame(mesh));

  test('any heap of blocks, at any heights', () => {
    const size = fc.double({ min: 0.1, max: 9, noNaN: true });
    const place = fc.double({ min: -9, max: 9, noNaN: true });
    const heap = fc.array(fc.tuple(size, size, size, place, place, place), { minLength: 1, maxLength: 8 });
    const heights = fc.array(fc.double({ min: -12, max: 20, noNaN: true }), { maxLength: 12 });
    fc.assert(
      fc.property(heap, heights, (blocks, zMm) => {
        const mesh = merged(...blocks.map((b) => block(...b)));
        expectEqual(sectionsAt(mesh, zMm, { kernel: true }), sectionsAt(mesh, zMm, { kernel: false }));
      }),
      { seed: 11, numRuns: 100 },
    );
  });

  test('a mesh with a hole is left to plain code', () => {
    const mesh = ball(10, 24, 12);
    expectSame({ ...mesh, triangles: mesh.triangles.slice(0, -30) });
  });
});

describe.skipIf(!existsSync(REFERENCE))(
  'the compiled kernel on open meshes (skipped where the reference data is absent)',
  () => {
    const names = existsSync(REFERENCE)
      ? readdirSync(REFERENCE).filter((name) => /\.(stl|obj|ply|glb)$/.test(name) && !/^(broken|mustfail)/.test(name))
      : [];
    test('there are meshes to compare on', () => expect(names.length).toBeGreaterThan(20));
    test.each(names)('%s', async (name) => {
      const mesh = await readReference(name);
      const zs = Array.from({ length: mesh.positions.length / 3 }, (_, v) => mesh.positions[3 * v + 2]);
      const low = zs.reduce((a, b) => Math.min(a, b));
      const high = zs.reduce((a, b) => Math.max(a, b));
      const planes = Array.from({ length: 40 }, (_, k) => low + ((high - low) * k) / 39);
      expectEqual(sectionsAt(mesh, planes, { kernel: true }), sectionsAt(mesh, planes, { kernel: false }));
    });
  },
);

function expectSame(mesh: Mesh): void {
  expectEqual(sliceMesh(mesh, { ...LAYERS, kernel: true }), sliceMesh(mesh, { ...LAYERS, kernel: false }));
}

function expectEqual(a: LayerLoops, b: LayerLoops): void {
  expect(a.bottomMm).toBe(b.bottomMm);
  expect(a.openChains).toBe(b.openChains);
  for (const key of ['zMm', 'topMm', 'layerStart', 'loopStart', 'xyMm'] as const) {
    // Compared as bytes: −0 and NaN count too, and long arrays are not printed.
    expect(Buffer.compare(bytesOf(a[key]), bytesOf(b[key])), key).toBe(0);
  }
}

const bytesOf = (values: Float64Array | Uint32Array): Buffer =>
  Buffer.from(values.buffer, values.byteOffset, values.byteLength);

function single(mesh: Mesh): Mesh {
  return { ...mesh, positions: Float32Array.from(mesh.positions) };
}

function withCollapsed(mesh: Mesh): Mesh {
  // Cuts the edge of the first two triangles open with a triangle of no area: a, b, a between a–b and b–a.
  const [a, b] = mesh.triangles;
  return { ...mesh, triangles: Uint32Array.from([...mesh.triangles, a, b, a]) };
}
