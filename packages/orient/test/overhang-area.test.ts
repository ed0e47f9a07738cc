import { existsSync, readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { bytesSource, readMesh } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { convexHull, overhangAreaMm2 } from '@stonehand/orient';
import { describe, expect, test } from 'vitest';
import { ball, box, UPRIGHT } from './shapes.ts';

const DATA = new URL('../../../../shared/data/meshes/', import.meta.url);
const present = existsSync(new URL('reference.json', DATA));

type Reference = Readonly<{
  watertight?: boolean;
  orientation_consistent?: boolean;
  hull_volume?: number;
  overhang?: Readonly<{ area_45: number; 'area_within_1e-5_of_45': number }>;
}>;
const meshes: Record<string, Reference> = present
  ? JSON.parse(readFileSync(new URL('reference.json', DATA), 'utf8')).meshes
  : {};
const sound = Object.entries(meshes).filter(
  ([file, m]) =>
    !file.startsWith('broken_') && m.watertight === true && m.orientation_consistent === true && m.overhang,
);

describe.skipIf(!present)(
  'sound meshes against VTK, CGAL and Qhull (skipped: no reference meshes beside the repository)',
  () => {
    test('there are at least thirty of them', () => {
      expect(sound.length).toBeGreaterThanOrEqual(30);
    });

    test.each(sound)('%s: overhanging area at 45°', async (file, reference) => {
      const ours = overhangAreaMm2(await meshOf(file), upOfFile(file), 45);
      const { area_45: theirs, 'area_within_1e-5_of_45': atLimit } = reference.overhang!;
      expect(Math.abs(ours - theirs)).toBeLessThanOrEqual(1e-6 * theirs + atLimit * (1 + 1e-6));
      // Faces at the limit are left out here, so the answer is never above the strict one.
      expect(ours).toBeLessThanOrEqual(theirs * (1 + 1e-6));
    });

    test.each(sound)('%s: overhanging area at 30° and 60°, summed by the angle of each face', async (file) => {
      const mesh = await meshOf(file);
      for (const deg of [30, 60]) {
        const { area, atLimit } = byAngles(mesh, deg);
        expect(Math.abs(overhangAreaMm2(mesh, UPRIGHT, deg) - area)).toBeLessThanOrEqual(1e-6 * area + atLimit);
      }
    });

    test.each(sound.filter(([, m]) => m.hull_volume))('%s: volume of the hull', async (file, reference) => {
      const { positions } = await meshOf(file);
      const { triangles } = convexHull(positions);
      let six = 0;
      const [ox, oy, oz] = [positions[0]!, positions[1]!, positions[2]!];
      for (let t = 0; t < triangles.length; t += 3) {
        const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
        const [ax, ay, az] = [positions[a]! - ox, positions[a + 1]! - oy, positions[a + 2]! - oz];
        const [bx, by, bz] = [positions[b]! - ox, positions[b + 1]! - oy, positions[b + 2]! - oz];
        const [cx, cy, cz] = [positions[c]! - ox, positions[c + 1]! - oy, positions[c + 2]! - oz];
        six += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
      }
      expect(Math.abs(six / 6 / reference.hull_volume! - 1)).toBeLessThan(1e-6);
    });
  },
);

test('a ball overhangs by 2π·r²·(1 − cos 45°), and by nothing below the limit of a full ceiling', () => {
  expect(Math.abs(overhangAreaMm2(ball(10, 256, 256), UPRIGHT, 45) / 184.030237 - 1)).toBeLessThan(1e-3);
  expect(overhangAreaMm2(ball(10, 64, 64), UPRIGHT, 90)).toBe(0);
});

test('the face on the plate is left out, the same face held up is not', () => {
  expect(overhangAreaMm2(box([0, 0, 5], [10, 20, 15]), UPRIGHT, 45)).toBe(0);
  const turned = [Math.SQRT1_2, 0, -Math.SQRT1_2, 0, 1, 0, Math.SQRT1_2, 0, Math.SQRT1_2];
  expect(overhangAreaMm2(box([0, 0, 0], [10, 20, 15]), turned, 44)).toBeCloseTo(200 + 300, 9);
  expect(overhangAreaMm2(box([0, 0, 0], [10, 20, 15]), turned, 45)).toBe(0);
});

/** glTF has y up and is turned on reading; the reference figures are for z of the file. */
const upOfFile = (file: string): readonly number[] => (file.endsWith('.glb') ? [1, 0, 0, 0, 0, 1, 0, -1, 0] : UPRIGHT);

async function meshOf(file: string): Promise<Mesh> {
  const bytes = readFileSync(new URL(file, DATA));
  const zipped = file.endsWith('.gz');
  const source = zipped ? bytesSource(file.slice(0, -3), gunzipSync(bytes)) : bytesSource(file, bytes);
  return (await readMesh(source)).mesh;
}

/** Heron's areas of the faces whose normal dips by more than the angle, and of those within 1e-5 rad of it. */
function byAngles({ positions: p, triangles }: Mesh, deg: number): { area: number; atLimit: number } {
  const corner = (k: number): number[] => [0, 1, 2].map((d) => p[3 * triangles[k]! + d]!);
  const heights = Array.from(triangles, (v) => p[3 * v + 2]!);
  const [low, high] = heights.reduce(([a, b], z) => [Math.min(a, z), Math.max(b, z)] as const, [
    Infinity,
    -Infinity,
  ] as const);
  let area = 0;
  let atLimit = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [corner(t), corner(t + 1), corner(t + 2)];
    if (Math.max(a[2]!, b[2]!, c[2]!) <= low + 1e-6 * (high - low)) continue;
    const away = (q: readonly number[], r: readonly number[]): number => Math.hypot(...q.map((v, d) => v - r[d]!));
    const [x, y, z] = [away(a, b), away(b, c), away(c, a)].sort((q, r) => r - q) as [number, number, number];
    // Kahan's order of the terms keeps thin triangles right.
    const size = Math.sqrt(Math.max(0, (x + (y + z)) * (z - (x - y)) * (z + (x - y)) * (x + (y - z)))) / 4;
    const flat = ((b[0]! - a[0]!) * (c[1]! - a[1]!) - (b[1]! - a[1]!) * (c[0]! - a[0]!)) / 2;
    const dips = Math.asin(Math.max(-1, Math.min(1, -flat / size))) - (deg * Math.PI) / 180;
    if (Math.abs(dips) < 1e-5) atLimit += size;
    else if (dips > 0) area += size;
  }
  return { area, atLimit };
}
