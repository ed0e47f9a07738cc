import {
  bytesSource,
  columnVolume,
  massProperties,
  mergeMeshes,
  readMesh,
  readStl,
  repairMesh,
  topology,
  transformMesh,
  turnInsideOut,
  uniteBodies,
  weld,
  writeStl,
} from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import fc from 'fast-check';
import openManifold, { type ManifoldToplevel } from 'manifold-3d';
import { beforeAll, describe, expect, test } from 'vitest';
import { within } from './agreement.ts';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';
import { boxOf, closedMesh } from './shapes.ts';

let manifold: ManifoldToplevel;
beforeAll(async () => {
  manifold = await openManifold();
  manifold.setup();
});

describe.skipIf(REFERENCE_ABSENT)('reference files (skipped where ../shared/data is absent)', () => {
  test.each([
    ['featuretype_cracked.stl', ['weld']],
    ['featuretype_inch.3mf', ['closeHoles']],
    ['bunny.bin.stl', ['closeHoles']],
    ['sphere_with_hole_ascii.stl', ['closeHoles']],
    ['blobby_three_open.stl', ['closeHoles']],
    ['broken_missingFace.ascii.stl', ['closeHoles']],
    ['multibody_misoriented_ascii.stl', ['unifyFacing', 'turnBodies']],
    ['joined_tetrahedra.obj', ['dropCopies']],
    ['capsule_collapsed_faces.obj', ['dropCollapsed']],
    ['cube_gears.3mf', ['dropCollapsed']],
    ['analytic_box_inverted.stl', ['turnBodies']],
    ['coupling_inverted.stl', ['turnBodies']],
  ])('%s becomes a solid in the eyes of manifold-3d, by %j', async (file, steps) => {
    const { mesh } = await readMesh(referenceSource(file));
    const repair = await repairMesh(mesh);
    expect(repair.steps.map(({ what }) => what)).toEqual(steps);
    expect(repair.steps.every(({ count }) => count > 0)).toBe(true);
    expect(repair.after).toMatchObject({
      closed: true,
      misorientedEdges: 0,
      collapsedTriangles: 0,
      duplicateTriangles: 0,
    });
    const solid = asSolid(repair.mesh);
    expect(solid.status).toBe('NoError');
    // That library computes in single precision of the mesh's size.
    within(solid.volume, repair.after.volume!, 1e-5 * repair.after.volume!, 'volume');
    expect(solid.volume).toBeGreaterThan(0);
  });

  test('the library of that check refuses the files as they were where they are open or misoriented', async () => {
    for (const file of ['featuretype_cracked.stl', 'bunny.bin.stl', 'multibody_misoriented_ascii.stl']) {
      expect(asSolid((await readMesh(referenceSource(file))).mesh).status).toBe('NotManifold');
    }
  });

  test('the cracked part has the volume that the reference gives for its tolerance weld and for the same part without cracks', async () => {
    const { mesh } = await readMesh(referenceSource('featuretype_cracked.stl'));
    const { after } = await repairMesh(mesh);
    const { volume } = referenceMeshes().get('featuretype.ply')!;
    within(after.volume!, 11.62773343119675, 1e-9, 'after_tolerance_weld');
    within(after.volume!, volume!, 1e-6 * volume!, 'featuretype.ply');
  });

  for (const [file, expected] of referenceMeshes()) {
    const sound =
      expected.watertight && expected.volume_defined && expected.collapsed_faces === 0 && (expected.volume ?? 0) > 0;
    if (!sound || file === 'huge_gyroid.ply.gz' || file === 'broken_incorrectFaceCounter.bin.stl') continue;
    test(`${file} is sound and comes back as it is`, async () => {
      const { mesh } = await readMesh(referenceSource(file));
      const repair = await repairMesh(mesh);
      expect(repair.mesh).toBe(mesh);
      expect(repair.steps).toEqual([]);
    });
  }
});

describe('sound meshes', () => {
  test('any closed body comes back as the same object, alone or with another beside it', async () => {
    await fc.assert(
      fc.asyncProperty(closedMesh(), closedMesh(), async (a, b) => {
        for (const mesh of [a, mergeMeshes([a, moved(b, [100, 0, 0])])]) {
          const { mesh: back, steps, left } = await repairMesh(mesh);
          expect(back).toBe(mesh);
          expect([...steps, ...left]).toEqual([]);
        }
      }),
      { numRuns: 60, seed: 3 },
    );
  });

  test('a hollow, and a body loose inside it, stay as they face', async () => {
    const hollow = [boxOf(10, 10, 10), moved(turnInsideOut(boxOf(6, 6, 6)), [2, 2, 2])];
    const loose = mergeMeshes([...hollow, moved(boxOf(2, 2, 2), [4, 4, 4])]);
    expect((await repairMesh(loose, { unite: 'overlapping' })).mesh).toBe(loose);
  });
});

describe('damage', () => {
  test('whatever is done to a closed body, repair never leaves more faults, and a second repair finds nothing to do', async () => {
    await fc.assert(
      fc.asyncProperty(closedMesh(), fc.array(damage(), { minLength: 1, maxLength: 4 }), async (mesh, hits) => {
        const broken = hits.reduce((m, hit) => hit(m), mesh);
        const { mesh: mended, before, after } = await repairMesh(broken);
        const faults = (c: typeof before): number => c.boundaryEdges + c.nonManifoldEdges + c.misorientedEdges;
        expect(faults(after)).toBeLessThanOrEqual(faults(before));
        expect((await repairMesh(mended)).mesh).toBe(mended);
      }),
      { numRuns: 150, seed: 4 },
    );
  });

  test('a body with turned, doubled and missing triangles becomes closed and keeps its volume but for the fillings', async () => {
    await fc.assert(
      fc.asyncProperty(closedMesh(), fc.nat(), async (mesh, seed) => {
        const count = mesh.triangles.length / 3;
        fc.pre(count >= 60); // a few triangles are else the whole body
        const gone = seed % count;
        const broken = doubled(turned(without(mesh, gone), (gone * 7) % (count - 1)), (gone * 3) % (count - 1));
        const { mesh: mended, after } = await repairMesh(broken);
        expect(after.closed).toBe(true);
        expect(asSolid(mended).status).toBe('NoError');
        // One triangle is filled by itself, so nothing else can differ.
        within(
          massProperties(mended).volumeMm3,
          massProperties(mesh).volumeMm3,
          1e-9 * Math.abs(after.volume!),
          'volume',
        );
      }),
      { numRuns: 60, seed: 8 },
    );
  });

  test('cracks of a few roundings close without moving any vertex by more than that', async () => {
    const soup = boxSoup();
    const shaken = Float32Array.from(soup, (x, i) => x + ((i * 7) % 5) * 1e-6);
    const cracked = weld(shaken);
    expect(topology(cracked).boundaryEdges).toBeGreaterThan(0);
    const { mesh, after, steps } = await repairMesh(cracked);
    expect(after).toMatchObject({ closed: true, triangles: 12 });
    expect(mesh.positions.length / 3).toBe(8);
    expect(steps.map(({ what }) => what)).toEqual(['weld']);
    within(after.volume!, 6000, 6000 * 1e-6, 'volume');
  });

  test('a flat sheet is not closed into a body without volume, and that is told', async () => {
    const sheet = weld(Float64Array.of(0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0, 0, 1, 1, 0, 0, 1, 0));
    const { mesh, left } = await repairMesh(sheet);
    expect(mesh).toBe(sheet);
    expect(left).toEqual(['4 edges still have a triangle on one side only.']);
  });

  test('a wide opening is closed with a word of warning, in as many triangles as it has corners less two', async () => {
    const box = boxOf(20, 30, 10);
    const open = { ...box, triangles: box.triangles.filter((_, h) => !isTop(box, Math.floor(h / 3))) };
    const { after, left, mesh } = await repairMesh(open);
    expect(after).toMatchObject({ closed: true, triangles: 12 });
    expect(left).toHaveLength(1);
    within(massProperties(mesh).volumeMm3, 6000, 1e-9, 'volume');
  });

  test('a written and read repair is closed still', async () => {
    const { mesh } = await repairMesh(without(boxOf(1, 2, 3), 4));
    expect(topology(readStl(bytesSource('a.stl', writeStl(mesh, 'a'))).mesh).closed).toBe(true);
  });
});

describe('overlapping bodies', () => {
  const crossed = mergeMeshes([boxOf(30, 10, 10), moved(boxOf(10, 30, 10), [10, -10, 0])]);

  test('are left alone unless it is asked for', async () => {
    expect((await repairMesh(crossed)).mesh).toBe(crossed);
  });

  test('become one with the volume that they fill together', async () => {
    const { after, steps } = await repairMesh(crossed, { unite: 'overlapping' });
    expect(steps.map(({ what, count }) => [what, count])).toEqual([['unite', 2]]);
    expect(after).toMatchObject({ closed: true, components: 1 });
    within(after.volume!, 3000 + 3000 - 1000, 5000 * 1e-6, 'volume');
  });

  test('keep their hollows', async () => {
    const hollow = mergeMeshes([crossed, moved(turnInsideOut(boxOf(2, 2, 2)), [1, 4, 4])]);
    const { volume } = await uniteBodies(hollow);
    within(volume, 5000 - 8, 5000 * 1e-6, 'volume');
  });

  test('columns count what overlaps once', () => {
    // 256 columns over 30 mm: the outline is off by half a column at most.
    within(columnVolume(crossed), 5000, (120 * 10 * 30) / 256 / 2, 'columns');
    within(massProperties(crossed).volumeMm3, 6000, 1e-9, 'integrals');
  });

  test('an open body is refused', async () => {
    await expect(uniteBodies(without(crossed, 0))).rejects.toMatchObject({ code: 'MESH_OPEN' });
  });
});

function asSolid(mesh: Mesh): { status: string; volume: number } {
  try {
    const solid = new manifold.Manifold(
      new manifold.Mesh({
        numProp: 3,
        vertProperties: Float32Array.from(mesh.positions),
        triVerts: Uint32Array.from(mesh.triangles),
      }),
    );
    const result = { status: solid.status(), volume: solid.volume() };
    solid.delete();
    return result;
  } catch (error) {
    return { status: (error as { code?: string }).code ?? 'refused', volume: Number.NaN };
  }
}

function damage(): fc.Arbitrary<(mesh: Mesh) => Mesh> {
  return fc.tuple(fc.constantFrom(without, turned, doubled, collapsed, cracked), fc.nat()).map(
    ([hit, seed]) =>
      (mesh: Mesh) =>
        hit(mesh, seed % (mesh.triangles.length / 3)),
  );
}

function without(mesh: Mesh, t: number): Mesh {
  return { ...mesh, triangles: mesh.triangles.filter((_, h) => Math.floor(h / 3) !== t) };
}

function turned(mesh: Mesh, t: number): Mesh {
  const triangles = mesh.triangles.slice();
  [triangles[3 * t], triangles[3 * t + 1]] = [triangles[3 * t + 1]!, triangles[3 * t]!];
  return { ...mesh, triangles };
}

function doubled(mesh: Mesh, t: number): Mesh {
  return { ...mesh, triangles: Uint32Array.of(...mesh.triangles, ...mesh.triangles.subarray(3 * t, 3 * t + 3)) };
}

function collapsed(mesh: Mesh, t: number): Mesh {
  const triangles = mesh.triangles.slice();
  triangles[3 * t] = triangles[3 * t + 1]!;
  return { ...mesh, triangles };
}

/** One corner of one triangle gets a vertex of its own, a hair away. */
function cracked(mesh: Mesh, t: number): Mesh {
  const v = mesh.triangles[3 * t]!;
  const corner = mesh.positions.subarray(3 * v, 3 * v + 3).map((x) => x * (1 + 2 ** -22));
  const triangles = mesh.triangles.slice();
  triangles[3 * t] = mesh.positions.length / 3;
  return { ...mesh, positions: Float64Array.of(...mesh.positions, ...corner), triangles };
}

function boxSoup(): number[] {
  const box = boxOf(10, 20, 30);
  return [...box.triangles].flatMap((v) => [...box.positions.subarray(3 * v, 3 * v + 3)]);
}

function isTop({ positions, triangles }: Mesh, t: number): boolean {
  return [0, 1, 2].every((k) => positions[3 * triangles[3 * t + k]! + 2] === 10);
}

function moved(mesh: Mesh, [x, y, z]: Vec3): Mesh {
  return transformMesh(mesh, [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z]);
}
