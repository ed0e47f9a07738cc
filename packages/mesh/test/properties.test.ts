import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import {
  bytesSource,
  halfEdgeTwins,
  massProperties,
  mergeMeshes,
  meshHash,
  readStl,
  topology,
  transformMesh,
  turnInsideOut,
  weld,
  writeStl,
} from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { within } from './agreement.ts';
import { closedMesh, ngonColumn } from './shapes.ts';

const RUNS = { seed: 20261125, numRuns: 60 };
const turn = (): fc.Arbitrary<number> => fc.double({ min: -180, max: 180, noNaN: true });
const shift = (): fc.Arbitrary<number> => fc.double({ min: -500, max: 500, noNaN: true });
/**
 * Corners within 600 mm move by half an ulp of that, 6e-14; the volume follows by at most area times that, and the sums over at
 * most 250 triangles add about as many roundings of their largest term: together below 1e-11 of area times size.
 */
const VOLUME_SHARE = 1e-11;

describe('properties', () => {
  test('the made bodies are closed, face outwards and have the Euler number of their genus', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        const t = topology(mesh);
        expect(t).toMatchObject({ closed: true, volumeDefined: true, orientationConsistent: true, components: 1 });
        expect([0, 2]).toContain(t.euler);
        expect(massProperties(mesh).volumeMm3).toBeGreaterThan(0);
      }),
      RUNS,
    );
  });

  test('a rigid motion keeps volume and area', () => {
    fc.assert(
      fc.property(
        closedMesh(),
        fc.tuple(turn(), turn(), turn()),
        fc.tuple(shift(), shift(), shift()),
        (mesh, turns, offset) => {
          const moved = massProperties(transformMesh(mesh, affineOf(rotationOfTurns(turns), offset)));
          const before = massProperties(mesh);
          within(moved.volumeMm3, before.volumeMm3, VOLUME_SHARE * before.areaMm2 * 100, 'volume');
          within(moved.areaMm2, before.areaMm2, VOLUME_SHARE * before.areaMm2, 'area');
        },
      ),
      RUNS,
    );
  });

  test('scaling by s gives s² the area and s³ the volume, and s⁵ the tensor', () => {
    fc.assert(
      fc.property(closedMesh(), fc.double({ min: 0.01, max: 50, noNaN: true }), (mesh, s) => {
        const before = massProperties(mesh);
        const after = massProperties(transformMesh(mesh, [s, 0, 0, 0, 0, s, 0, 0, 0, 0, s, 0]));
        within(after.areaMm2, before.areaMm2 * s ** 2, 1e-12 * after.areaMm2, 'area');
        within(after.volumeMm3, before.volumeMm3 * s ** 3, VOLUME_SHARE * after.areaMm2 * s, 'volume');
        const largest = Math.max(...after.inertiaMm5!.map(Math.abs));
        before.inertiaMm5!.forEach((value, i) => {
          within(after.inertiaMm5![i]!, value * s ** 5, 1e-9 * largest, `tensor ${i}`);
        });
      }),
      RUNS,
    );
  });

  test('a mirrored body keeps its volume and its sign', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        const mirrored = massProperties(transformMesh(mesh, [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]));
        const before = massProperties(mesh);
        within(mirrored.volumeMm3, before.volumeMm3, 1e-12 * before.areaMm2 * 100, 'volume');
        within(mirrored.centreMm![0], -before.centreMm![0], 1e-9, 'centre x');
      }),
      RUNS,
    );
  });

  test('turned inside out, volume and tensor change sign only', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        const out = massProperties(turnInsideOut(mesh));
        const before = massProperties(mesh);
        within(out.volumeMm3, -before.volumeMm3, 1e-12 * before.areaMm2 * 100, 'volume');
        within(out.areaMm2, before.areaMm2, 1e-12 * before.areaMm2, 'area');
      }),
      RUNS,
    );
  });

  test('the order of the triangles does not matter', () => {
    fc.assert(
      fc.property(closedMesh(), fc.integer(), (mesh, seed) => {
        const shuffled = weld(shuffledSoup(mesh, seed));
        const { twins: _a, ...before } = countsOf(mesh);
        const { twins: _b, ...after } = countsOf(shuffled);
        expect(after).toEqual(before);
        within(massProperties(shuffled).volumeMm3, massProperties(mesh).volumeMm3, 1e-9, 'volume');
      }),
      RUNS,
    );
  });

  test('a written STL reads back as the same mesh, to the bit in single precision', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        const single = weld(Float32Array.from(soupOf(mesh)));
        const back = readStl(bytesSource('a.stl', writeStl(single, 'solid of a test'))).mesh;
        expect(back).toEqual(single);
        expect(meshHash(back)).toBe(meshHash(single));
      }),
      RUNS,
    );
  });

  test('twins run back along the same edge', () => {
    fc.assert(
      fc.property(closedMesh(), (mesh) => {
        const twins = halfEdgeTwins(mesh);
        const { triangles } = mesh;
        const end = (h: number): number => triangles[h % 3 === 2 ? h - 2 : h + 1]!;
        twins.forEach((g, h) => {
          expect(twins[g]).toBe(h);
          expect([triangles[g], end(g)]).toEqual([end(h), triangles[h]]);
        });
      }),
      RUNS,
    );
  });

  test('merging bodies adds volumes, areas and bodies', () => {
    fc.assert(
      fc.property(closedMesh(), closedMesh(), (a, b) => {
        const both = mergeMeshes([a, b]);
        const [ma, mb, mab] = [a, b, both].map((mesh) => massProperties(mesh)) as [
          ReturnType<typeof massProperties>,
          ReturnType<typeof massProperties>,
          ReturnType<typeof massProperties>,
        ];
        within(mab.volumeMm3, ma.volumeMm3 + mb.volumeMm3, VOLUME_SHARE * mab.areaMm2 * 100, 'volume');
        within(mab.areaMm2, ma.areaMm2 + mb.areaMm2, 1e-12 * mab.areaMm2, 'area');
        expect(topology(both)).toMatchObject({ components: 2, closed: true });
      }),
      RUNS,
    );
  });
});

describe('edges', () => {
  test('a fan of 60 000 triangles at one vertex is paired in time linear in them', () => {
    const column = ngonColumn(60_000, 50, 1);
    expect(topology(column)).toMatchObject({ closed: true, euler: 2, components: 1 });
  });

  test('two cubes that share an edge: the four half-edges along it are paired within each cube, none is left over', () => {
    const corners = (x: number, y: number): number[] => soupOf(ngonColumnAt(x, y));
    const both = weld(Float64Array.from([...corners(0, 0), ...corners(1, 1)]));
    expect(topology(both)).toMatchObject({ nonManifoldEdges: 1, boundaryEdges: 0, volumeDefined: true, components: 1 });
    const perCube = both.triangles.length / 2;
    halfEdgeTwins(both).forEach((g, h) => {
      expect(g).toBeGreaterThanOrEqual(0);
      expect(Math.floor(g / perCube)).toBe(Math.floor(h / perCube));
    });
  });

  test('a collapsed triangle is passed over: its neighbours are paired with each other', () => {
    const mesh: Mesh = {
      positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1),
      triangles: Uint32Array.of(0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3, 1, 1, 2),
      originMm: [0, 0, 0],
    };
    expect(topology(mesh)).toMatchObject({ closed: true, collapsedTriangles: 1, euler: 2, edges: 6 });
    const twins = halfEdgeTwins(mesh);
    expect([...twins.subarray(12)]).toEqual([12, 14, 13]);
    expect([...twins.subarray(0, 12)].every((g) => g >= 0 && g < 12)).toBe(true);
  });
});

function countsOf(mesh: Mesh): Record<string, unknown> {
  const { firstBoundary, firstCollapsed, firstDuplicate, firstMisoriented, firstNonManifold, ...counts } =
    topology(mesh);
  return counts;
}

function soupOf(mesh: Mesh): number[] {
  return [...mesh.triangles].flatMap((v) => [...mesh.positions.subarray(3 * v, 3 * v + 3)]);
}

function shuffledSoup(mesh: Mesh, seed: number): Float64Array {
  const soup = soupOf(mesh);
  const order = Array.from({ length: soup.length / 9 }, (_, t) => t);
  const random = seededRandom(seed);
  for (let i = order.length - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [order[i], order[j]] = [order[j]!, order[i]!];
  }
  return Float64Array.from(order.flatMap((t) => soup.slice(9 * t, 9 * t + 9)));
}

/** A unit cube as a column over a square, moved so that its corners lie on whole numbers. */
function ngonColumnAt(x: number, y: number): Mesh {
  const soup = soupOf(ngonColumn(4, Math.SQRT1_2, 1));
  const turned = soup.map((value, i) => {
    const o = i - (i % 3);
    if (i % 3 === 2) return value;
    const sum = i % 3 === 0 ? soup[o]! - soup[o + 1]! : soup[o]! + soup[o + 1]!;
    return Math.round((sum * Math.SQRT1_2 + (i % 3 === 0 ? x : y) + 0.5) * 2) / 2;
  });
  return weld(Float64Array.from(turned));
}
