import {
  bodiesOf,
  castRays,
  halfEdgeTwins,
  holeLoops,
  likelyUnit,
  mergeMeshes,
  nestingOf,
  nonManifoldVertices,
  rayTree,
  readingOf,
  readMesh,
  swallowedBodies,
  transformMesh,
  turnInsideOut,
  wallThickness,
  weld,
} from '@stonehand/mesh';
import type { Finding, Mesh, Reading, Vec3 } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';
import { boxOf, closedMesh, ngonColumn } from './shapes.ts';

describe.skipIf(REFERENCE_ABSENT)('against the reference counts (skipped where ../shared/data is absent)', () => {
  for (const [file, expected] of referenceMeshes()) {
    if (file === 'concave_polygon.obj' || file === 'broken_incorrectFaceCounter.bin.stl') continue; // read otherwise
    test(`${file}: as many vertices of several fans`, async () => {
      const { mesh } = await readMesh(referenceSource(file));
      expect(nonManifoldVertices(mesh, halfEdgeTwins(mesh)).count).toBe(expected.nonmanifold_vertices);
    });
  }

  test('the rims of all holes have as many edges as the reference counts', async () => {
    for (const file of [
      'bunny.bin.stl',
      'blobby_three_open.stl',
      'sphere_with_hole_ascii.stl',
      'featuretype_cracked.stl',
    ]) {
      const { mesh } = await readMesh(referenceSource(file));
      const loops = holeLoops(mesh, halfEdgeTwins(mesh));
      expect(loops.every((loop) => loop.closed)).toBe(true);
      const edges = loops.reduce((sum, loop) => sum + loop.halfEdges.length, 0);
      expect(edges).toBe(referenceMeshes().get(file)!.boundary_edges);
    }
  });

  test('the bunny is likely in metres, the part made in inches likely in inches, the pins of a GLB in millimetres', async () => {
    expect(await guessOf('bunny.bin.stl', 'mm')).toBe('m');
    expect(await guessOf('featuretype.ply', 'mm')).toBe('in');
    expect(await guessOf('pins.glb', 'm')).toBe('mm');
    expect(await guessOf('gearwheel.bin.stl', 'mm')).toBeUndefined();
    expect(await guessOf('adj_mount_inch.3mf', 'in')).toBeUndefined();
    expect(await guessOf('tray_bottom_ascii.stl', 'mm')).toBeUndefined();
  });
});

describe('units', () => {
  test('sizes of 5 to 600 mm that are not inches by their look raise no suspicion', () => {
    fc.assert(
      fc.property(fc.integer({ min: 70, max: 6000 }), (tenths) => {
        expect(likelyUnit([tenths / 10, tenths / 30, 1.3], 'mm')).toBeUndefined();
      }),
      { numRuns: 100, seed: 1 },
    );
  });

  test('a part of 0.19 is likely in metres, and the reason says what size it would be', () => {
    const guess = likelyUnit([0.19, 0.1, 0.05], 'mm')!;
    expect(guess.unit).toBe('m');
    expect(guess.longestMm).toBeCloseTo(190, 9);
    expect(guess.reason).toContain('190 mm');
  });

  test('a suspicion is a finding and changes no figure; a unit that a person stated is not doubted again', () => {
    const inches = boxOf(3, 2.5, 1.0625);
    const assumed = read(inches, { unitFrom: 'assumed' });
    expect(only(assumed, 'likelyUnit').says).toContain('inches');
    expect(assumed.boxMm.max).toEqual([3, 2.5, 1.0625]);
    expect(codes(read(inches, { unitFrom: 'stated' }))).toEqual([]);
  });
});

describe('bodies', () => {
  test('one body inside out among several is found, with the volume it spoils; a hollow is not mistaken for one', () => {
    const wrong = mergeMeshes([boxOf(10, 10, 10), moved(turnInsideOut(boxOf(4, 4, 4)), [20, 0, 0])]);
    const finding = only(read(wrong), 'insideOutBodies');
    expect(finding.count).toBe(1);
    expect(finding.spoils).toContain('volumeMm3');
    expect(finding.atMm![0]).toBeGreaterThanOrEqual(20);
    const hollow = mergeMeshes([boxOf(10, 10, 10), moved(turnInsideOut(boxOf(4, 4, 4)), [3, 3, 3])]);
    expect(codes(read(hollow))).toEqual(['bodies']);
    expect(codes(read(turnInsideOut(hollow)))).toEqual(['insideOut', 'bodies']);
  });

  test('a body within the hollow of another is sound; one within its material counts twice', () => {
    const hollow = [boxOf(10, 10, 10), moved(turnInsideOut(boxOf(6, 6, 6)), [2, 2, 2])];
    const loose = mergeMeshes([...hollow, moved(boxOf(2, 2, 2), [4, 4, 4])]);
    expect(codes(read(loose, { depth: 'full' }))).toEqual(['bodies']);
    const buried = mergeMeshes([boxOf(10, 10, 10), moved(boxOf(2, 2, 2), [4, 4, 4])]);
    expect(only(read(buried, { depth: 'full' }), 'overlap')).toMatchObject({ count: 1, severity: 'doubt' });
  });

  test('bodies that overlap are counted by pairs, with the volume they spoil; bodies that touch are only noted', () => {
    const at = (x: number): Mesh => moved(boxOf(10, 10, 10), [x, 1, 1]);
    const row = mergeMeshes([boxOf(10, 10, 10), at(9), at(18)]);
    expect(only(read(row, { depth: 'full' }), 'overlap')).toMatchObject({ count: 2 });
    // 3000 by triangles, 181 of it twice: 1 · 9 · 9 and 1 · 10 · 10.
    expect(only(read(row, { depth: 'full' }), 'overlap').says).toMatch(
      /add up to 3000 mm³; counted once it is about 28[0-9]0 mm³/,
    );
    const touching = read(mergeMeshes([boxOf(10, 10, 10), at(10)]), { depth: 'full' });
    expect(codes(touching)).toEqual(['touching', 'bodies']);
    expect(touching.grade).toBe('sound');
  });

  test('thousands of crumbs inside and outside of a large body are told apart in time', () => {
    const big = ngonColumn(20_000, 50, 10);
    const crumb = boxOf(0.1, 0.1, 0.1);
    const crumbs = Array.from({ length: 1500 }, (_, i) =>
      moved(crumb, [((i * 37) % 90) - 45, ((i * 53) % 90) - 45, 5]),
    );
    const mesh = mergeMeshes([big, ...crumbs]);
    const inside = crumbs.filter((c) => cornerDistance(c) < 49).length;
    const outside = crumbs.filter((c) => cornerDistance(c) > 51).length;
    const bodies = bodiesOf(mesh, halfEdgeTwins(mesh));
    const buried = swallowedBodies(bodies, nestingOf(mesh, bodies)).length;
    expect(buried).toBeGreaterThanOrEqual(inside);
    expect(buried).toBeLessThanOrEqual(1500 - outside);
    expect(only(read(mesh), 'specks').count).toBe(1500);
  });

  test('a crumb of 0.3 mm beside a part is a speck; a part that is small as a whole is not', () => {
    const crumb = mergeMeshes([boxOf(30, 30, 30), moved(boxOf(0.3, 0.2, 0.3), [40, 0, 0])]);
    expect(only(read(crumb), 'specks')).toMatchObject({ count: 1 });
    const small = mergeMeshes([boxOf(0.7, 0.7, 0.7), moved(boxOf(0.7, 0.7, 0.7), [1, 0, 0])]);
    expect(codes(read(small))).not.toContain('specks');
  });

  test('two boxes that meet in one corner share a point', () => {
    const soup = (x: number): number[] =>
      [...boxOf(1, 1, 1).triangles].flatMap((v) =>
        [...boxOf(1, 1, 1).positions.subarray(3 * v, 3 * v + 3)].map((c) => c + x),
      );
    const finding = only(read(weld(Float64Array.from([...soup(0), ...soup(1)]))), 'sharedPoints');
    expect(finding).toMatchObject({ count: 1, atMm: [1, 1, 1] });
  });

  test('the rims of two holes are told apart, with the longer one’s length', () => {
    const box = boxOf(10, 10, 10);
    const triangles = box.triangles.filter((_, h) => Math.floor(h / 3) !== 0 && Math.floor(h / 3) !== 11);
    const holes = only(read({ ...box, triangles }), 'holes');
    expect(holes.count).toBe(6);
    expect(holes.says).toContain(`2 rims, the longest 34.1 mm round`);
  });
});

describe('walls', () => {
  test('a plate is as thick as it is, found from both of its faces and nowhere else', () => {
    const plate = boxOf(40, 30, 0.6);
    const { thinnest, thinArea, rays, thinRays } = wallThickness(plate, { thinnerThan: 0.8 });
    expect(thinnest!.thickness).toBeCloseTo(0.6, 6); // single precision of 20 mm
    expect(thinnest!.at[2]).toBeCloseTo(0.3, 6);
    // Samples follow the area: all of the two faces, none of the edges. One sample more or less at each end of a face.
    expect(Math.abs(thinArea - 2 * 1200)).toBeLessThanOrEqual((12 * 2484) / rays);
    expect(thinRays).toBeLessThan(rays);
  });

  test('the wall of a hollow counts, whatever the facing as a whole; a body that merely overlaps does not', () => {
    const shell = mergeMeshes([boxOf(20, 20, 20), moved(turnInsideOut(boxOf(19, 19, 19)), [0.5, 0.5, 0.5])]);
    for (const mesh of [shell, turnInsideOut(shell)]) {
      const { thinnest, thinRays, rays } = wallThickness(mesh, { thinnerThan: 1 });
      expect(thinnest!.thickness).toBeCloseTo(0.5, 5);
      expect(thinRays / rays).toBeGreaterThan(0.9);
    }
    const embedded = mergeMeshes([boxOf(20, 20, 20), moved(boxOf(5, 5, 5), [5, 5, 19.7])]);
    expect(wallThickness(embedded, { thinnerThan: 1 }).thinnest).toBeUndefined();
  });

  test('thin walls are a finding of the full reading with a stated width only', () => {
    const plate = boxOf(40, 30, 0.6);
    expect(codes(read(plate))).toEqual([]);
    expect(codes(read(plate, { depth: 'full' }))).toEqual([]);
    expect(only(read(plate, { depth: 'full', thinMm: 0.8 }), 'thinWalls').says).toContain('0.6 mm');
    expect(codes(read(plate, { depth: 'full', thinMm: 0.5 }))).toEqual([]);
  });

  test('rays hit what a test of every triangle hits', () => {
    fc.assert(
      fc.property(
        closedMesh(),
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 60, maxLength: 60 }),
        (mesh, n) => {
          const rays = Float64Array.from(n, (x, i) => (i % 6 < 3 ? x * 60 : x + 0.01));
          const { distance } = castRays(rayTree(mesh), rays);
          for (let r = 0; r < rays.length / 6; r++) {
            const expected = firstHit(mesh, rays.subarray(6 * r, 6 * r + 6));
            // Grazing an edge, single precision may see it or not; then the other answer must be a near miss, so compare only clear hits.
            if (expected.clear) expect(distance[r]).toBeCloseTo(expected.distance, 2);
          }
        },
      ),
      { numRuns: 100, seed: 9 },
    );
  });
});

/** Every triangle in double precision; clear when no triangle is met or missed by less than a thousandth of it. */
function firstHit({ positions: p, triangles }: Mesh, ray: Float64Array): { distance: number; clear: boolean } {
  const [ox, oy, oz, dx, dy, dz] = ray as unknown as [number, number, number, number, number, number];
  let distance = Infinity;
  let clear = true;
  for (let h = 0; h < triangles.length; h += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => {
      const v = 3 * triangles[h + k]!;
      return [p[v]! - ox, p[v + 1]! - oy, p[v + 2]! - oz] as const;
    }) as [Vec3, Vec3, Vec3];
    const d: Vec3 = [dx, dy, dz];
    const parts = [volume(d, a, b), volume(d, b, c), volume(d, c, a)];
    const sum = parts[0]! + parts[1]! + parts[2]!;
    if (sum === 0) continue;
    const shares = parts.map((part) => part / sum);
    if (shares.some((share) => Math.abs(share) < 1e-3) && shares.every((share) => share > -1e-3)) clear = false;
    if (shares.some((share) => share < 0)) continue;
    const t = volume(a, b, c) / sum;
    if (Math.abs(t) < 1e-2) clear = false;
    if (t >= 0) distance = Math.min(distance, t);
  }
  return { distance: distance === Infinity ? -1 : distance, clear };
}

function volume([ax, ay, az]: Vec3, [bx, by, bz]: Vec3, [cx, cy, cz]: Vec3): number {
  return ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
}

async function guessOf(file: string, unit: string): Promise<string | undefined> {
  const { mesh } = await readMesh(referenceSource(file));
  const { min, max } = readingOf(
    file,
    { format: '', names: [], mesh, notes: [] },
    { unit: 'mm', unitFrom: 'stated' },
  ).boxMm;
  return likelyUnit([max[0] - min[0], max[1] - min[1], max[2] - min[2]], unit)?.unit;
}

function read(
  mesh: Mesh,
  options: { unitFrom?: Reading['unitFrom']; depth?: 'quick' | 'full'; thinMm?: number } = {},
): Reading {
  const file = { format: 'STL binary', names: [], mesh, notes: [] };
  return readingOf('a.stl', file, { unit: 'mm', unitFrom: 'stated', ...options });
}

function codes(reading: Reading): string[] {
  return reading.findings.map((finding) => finding.code);
}

function only(reading: Reading, code: string): Finding {
  const found = reading.findings.filter((finding) => finding.code === code);
  expect(found, `${code} among ${codes(reading).join(', ')}`).toHaveLength(1);
  return found[0]!;
}

function cornerDistance({ positions }: Mesh): number {
  return Math.hypot(positions[0]!, positions[1]!);
}

function moved(mesh: Mesh, [x, y, z]: Vec3): Mesh {
  return transformMesh(mesh, [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z]);
}
