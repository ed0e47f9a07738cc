import {
  bytesSource,
  castRays,
  hasKernel,
  massProperties,
  mergeMeshes,
  meshHash,
  rayTree,
  readStl,
  selfIntersections,
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

  test('for trees and rays: first hits of rays between any two corners, some of them along the axes', () => {
    fc.assert(
      fc.property(fc.oneof(gridSoup(3, 60), gridSoup(8, 200)), closedMesh(), (soup, body) => {
        expectSameHits(weld(soup, 'a soup', PLAIN));
        expectSameHits(body);
      }),
      { ...RUNS, numRuns: 60 },
    );
    expectSameHits(cone(3000));
    // Beyond single precision the boxes are infinite: nothing is found, by either.
    const far = cone(400);
    expectSameHits({ ...far, positions: Float64Array.from(far.positions, (x) => x * 1e38) });
  });

  test('for triangles that meet, in the same order, and when the budget ends between', () => {
    const heapOf = (count: number, seed: number): Mesh =>
      weld(
        Float32Array.from({ length: 9 * count }, (_, i) => Math.fround(Math.sin(seed + i * i))),
        'a heap',
        PLAIN,
      );
    let cut = 0;
    for (let seed = 0; seed < 30; seed++) {
      const heap = heapOf(40, seed);
      expect(expectSameContacts(heap).pairs).toBeGreaterThan(10);
      if (!expectSameContacts(heap, 20 * seed).complete) cut++;
    }
    expect(cut).toBeGreaterThan(10);
    // More candidates than are handed over at a time.
    expect(expectSameContacts(heapOf(700, 1)).pairs).toBeGreaterThan(20_000);
    fc.assert(
      fc.property(fc.oneof(gridSoup(3, 40), gridSoup(6, 120)), (soup) => {
        expectSameContacts(weld(soup, 'a soup', PLAIN));
      }),
      { ...RUNS, numRuns: 60 },
    );
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

function expectSameHits(mesh: Mesh): void {
  const [plain, compiled] = [rayTree(mesh, PLAIN), rayTree(mesh, KERNEL)];
  expect(compiled).toEqual(plain);
  const count = mesh.positions.length / 3;
  const rays: number[] = [];
  for (let i = 0; i < 40; i++) {
    const from = 3 * ((i * 7) % count);
    const to = 3 * ((i * 13 + 1) % count);
    const d = [0, 1, 2].map((k) => mesh.positions[to + k]! - mesh.positions[from + k]!);
    rays.push(...[0, 1, 2].map((k) => mesh.positions[from + k]! - d[k]! / 3), ...d);
    rays.push(...mesh.positions.subarray(from, from + 3), ...[0, 1, 2].map((k) => (k === i % 3 ? (-1) ** i : 0)));
  }
  const unseen = Uint32Array.from({ length: rays.length / 6 }, (_, i) => i % Math.max(1, mesh.triangles.length / 3));
  for (const more of [{}, { within: 0.8 }, { from: unseen }]) {
    for (const list of [Float64Array.from(rays), Float32Array.from(rays)])
      expect(castRays(plain, list, { ...more, ...KERNEL })).toEqual(castRays(plain, list, { ...more, ...PLAIN }));
  }
}

function expectSameContacts(mesh: Mesh, budgetPairs = 1e9): { pairs: number; complete: boolean } {
  const [plain, compiled] = [PLAIN, KERNEL].map((how) => {
    const list: (number | boolean)[] = [];
    const found = selfIntersections(mesh, { ...how, budgetPairs, onPair: (s, t, crosses) => list.push(s, t, crosses) });
    return { found, list };
  });
  expect(compiled).toEqual(plain);
  return plain!.found;
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
