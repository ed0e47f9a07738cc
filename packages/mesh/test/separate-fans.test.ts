import { massProperties, mergeMeshes, separateFans, topology, transformMesh, weld } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { boxOf, closedMesh } from './shapes.ts';

/** Edges by number: how many triangles each has, counted without the package. */
function mostAtAnEdge({ triangles }: Mesh): number {
  const counts = new Map<string, number>();
  for (let h = 0; h < triangles.length; h++) {
    const [a, b] = [triangles[h]!, triangles[h % 3 === 2 ? h - 2 : h + 1]!];
    const key = a < b ? `${a} ${b}` : `${b} ${a}`;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return Math.max(...counts.values());
}

const soupOf = (mesh: Mesh): Float64Array =>
  Float64Array.from([...mesh.triangles].flatMap((v) => [...mesh.positions.subarray(3 * v, 3 * v + 3)]));

describe('vertices of their own for parts that only touch', () => {
  test('two boxes that share an edge come apart by number and stay where they are', () => {
    const touching = weld(
      soupOf(mergeMeshes([boxOf(1, 1, 1), transformMesh(boxOf(1, 1, 1), [1, 0, 0, 1, 0, 1, 0, 1, 0, 0, 1, 0])])),
    );
    expect(topology(touching).nonManifoldEdges).toBe(1);
    expect(mostAtAnEdge(touching)).toBe(4);
    const apart = separateFans(touching);
    expect(mostAtAnEdge(apart)).toBe(2);
    expect(topology(apart)).toMatchObject({ closed: true, components: 2 });
    expect(massProperties(apart)).toEqual(massProperties(touching));
  });

  test('boxes that share a point, and a triangle without area', () => {
    const pair = weld(
      soupOf(mergeMeshes([boxOf(1, 1, 1), transformMesh(boxOf(1, 1, 1), [1, 0, 0, 1, 0, 1, 0, 1, 0, 0, 1, 1])])),
    );
    const withFlat = { ...pair, triangles: Uint32Array.from([...pair.triangles, 0, 0, 1]) };
    const apart = separateFans(withFlat);
    expect(apart.triangles.length).toBe(pair.triangles.length);
    expect(topology(apart).components).toBe(2);
    expect(massProperties(apart).volumeMm3).toBeCloseTo(2, 12);
  });

  test('a body that touches itself nowhere comes back as the same object', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        expect(separateFans(mesh)).toBe(mesh);
      }),
      { seed: 20261125, numRuns: 50 },
    );
  });
});
