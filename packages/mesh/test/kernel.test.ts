import {
  bytesSource,
  hasKernel,
  massProperties,
  mergeMeshes,
  meshHash,
  readStl,
  topology,
  weld,
  writeStl,
} from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { closedMesh } from './shapes.ts';

const RUNS = { seed: 20261125, numRuns: 300 };
const PLAIN = { kernel: false };
const KERNEL = { kernel: true };

// Corners on a grid of few points: nearly every soup has collapsed and double triangles, fans, holes and turned faces.
const gridSoup = (side: number, most: number): fc.Arbitrary<Float32Array> =>
  fc
    .array(fc.integer({ min: 0, max: side ** 3 - 1 }), { minLength: 3, maxLength: 3 * most })
    .map((corners) => corners.slice(0, corners.length - (corners.length % 3)))
    .map((corners) =>
      Float32Array.from(corners.flatMap((c) => [c % side, Math.floor(c / side) % side, Math.floor(c / side ** 2)])),
    );

test('the kernel runs here, or the tests below would compare the plain code with itself', () => {
  expect(hasKernel()).toBe(true);
});

describe('the compiled kernel gives what the plain code gives, to the bit', () => {
  test('on soups with every fault', () => {
    fc.assert(
      fc.property(fc.oneof(gridSoup(2, 12), gridSoup(3, 60), gridSoup(8, 200)), (soup) => {
        const mesh = weld(soup, 'a soup', PLAIN);
        expect(weld(soup, 'a soup', KERNEL)).toEqual(mesh);
        expectSame(mesh);
      }),
      RUNS,
    );
  });

  test('on sound bodies in double precision, and on two that do not share vertices', () => {
    fc.assert(
      fc.property(closedMesh(), closedMesh(), (a, b) => {
        expect(a.positions).toBeInstanceOf(Float64Array);
        expectSame(a);
        expectSame(mergeMeshes([a, b]));
      }),
      { ...RUNS, numRuns: 40 },
    );
  });

  test('on any single-precision numbers, −0 and subnormal ones among them', () => {
    const number = fc.oneof(
      fc.float({ noNaN: true, noDefaultInfinity: true }),
      fc.constantFrom(0, -0, 1, -1, 2 ** -149),
    );
    fc.assert(
      fc.property(fc.array(fc.array(number, { minLength: 9, maxLength: 9 }), { minLength: 1 }), (triangles) => {
        const soup = Float32Array.from(triangles.flat());
        const mesh = weld(soup, 'a soup', PLAIN);
        expect(weld(soup, 'a soup', KERNEL)).toEqual(mesh);
        expectSame(mesh);
      }),
      RUNS,
    );
  });

  test('where the table and the vertex list must grow: 21 000 triangles that share nothing', () => {
    const soup = Float32Array.from({ length: 21_000 * 9 }, (_, i) => (i * 7919) % 1_000_003);
    const mesh = weld(soup, 'a soup', PLAIN);
    expect(mesh.positions.length).toBeGreaterThan(60_000 * 3);
    expect(meshHash(weld(soup, 'a soup', KERNEL))).toBe(meshHash(mesh));
    expectSame(mesh);
  });

  test('around a vertex of 21 000 edges, in time', () => {
    expectSame(cone(21_000));
  });

  test('in a large binary file as in a soup of its triangles', () => {
    const ring = cone(21_000);
    const corners = [...ring.triangles].flatMap((v) => [...ring.positions.subarray(3 * v, 3 * v + 3)]);
    const read = readStl(bytesSource('cone.stl', writeStl(ring, 'cone')));
    expect(meshHash(read.mesh)).toBe(meshHash(weld(Float32Array.from(corners), 'a soup', PLAIN)));
  });

  test('when the source of the bytes uses the kernel itself', () => {
    const ring = cone(9000);
    const inner = bytesSource('ring.stl', writeStl(ring, 'ring'));
    const source = {
      ...inner,
      read(into: Uint8Array, at: number): number {
        expect(massProperties(ring, KERNEL).flatTriangles).toBe(0);
        return inner.read(into, at);
      },
    };
    expect(meshHash(readStl(source).mesh)).toBe(meshHash(readStl(inner).mesh));
  });

  test('and a mesh whose corners are no vertices is a fault, not an endless loop', () => {
    const mesh = { ...cone(9000), positions: new Float32Array(3 * 8000) };
    expect(() => topology(mesh, KERNEL)).toThrow();
  });

  test('naming the same triangle when a coordinate is not finite', () => {
    const soup = new Float32Array(9 * 10_000).fill(1);
    soup[9 * 7000 + 4] = NaN;
    for (const how of [PLAIN, KERNEL]) expect(() => weld(soup, 'a soup', how)).toThrow(/triangle 7001 /);
  });
});

function expectSame(mesh: Mesh): void {
  const { twins, ...counts } = topology(mesh, KERNEL);
  const { twins: plainTwins, ...plainCounts } = topology(mesh, PLAIN);
  expect(counts).toEqual(plainCounts);
  expect(Buffer.from(twins.buffer).equals(Buffer.from(plainTwins.buffer))).toBe(true);
  expect(massProperties(mesh, KERNEL)).toEqual(massProperties(mesh, PLAIN));
}

/** A fan of n triangles around one vertex, in single precision. */
function cone(n: number): Mesh {
  const positions = new Float32Array(3 * (n + 1));
  const triangles = new Uint32Array(3 * n);
  positions[2] = 10;
  for (let k = 0; k < n; k++) {
    positions.set([20 * Math.cos((2 * Math.PI * k) / n), 20 * Math.sin((2 * Math.PI * k) / n), 0], 3 * (k + 1));
    triangles.set([0, 1 + k, 1 + ((k + 1) % n)], 3 * k);
  }
  return { positions, triangles, originMm: [0, 0, 0] };
}
