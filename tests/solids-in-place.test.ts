import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import { loadSolids } from '@stonehand/inspect';
import { massProperties, transformMesh } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { BufferAttribute, BufferGeometry, Matrix4 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { describe, expect, test } from 'vitest';
import { column } from '../packages/inspect/test/solids.ts';

const solids = await loadSolids();

// 200 pairs of convex prisms, turned and placed at random: overlap against the faces of each cut off at the other's planes, distance against
// three-mesh-bvh.
describe('overlap and distance of placed solids agree with other code', () => {
  const random = seededRandom(20);
  const between = (from: number, to: number): number => from + (to - from) * random.next();
  const prism = (): Mesh => {
    const solid = column(between(4, 15), between(6, 30), 3 + random.below(10));
    const turns: Vec3 = [between(0, 360), between(0, 360), between(0, 360)];
    return transformMesh(
      solid,
      affineOf(rotationOfTurns(turns), [between(-22, 22), between(-22, 22), between(-22, 22)]),
    );
  };
  const pairs = Array.from({ length: 200 }, () => [prism(), prism()] as const);

  test('on 200 random pairs, to 1e-4 of the smaller solid and 1e-4 mm', () => {
    let overlapping = 0;
    for (const [a, b] of pairs) {
      const { overlapMm3, gapMm } = solids.contact(a, b, 100);
      const smaller = Math.min(massProperties(a).volumeMm3, massProperties(b).volumeMm3);
      expect(Math.abs(overlapMm3 - commonVolume(a, b))).toBeLessThan(1e-4 * smaller);
      if (overlapMm3 > 0) overlapping++;
      else expect(Math.abs(gapMm - distance(a, b))).toBeLessThan(1e-4);
    }
    // Both kinds of pair are there.
    expect(overlapping).toBeGreaterThan(40);
    expect(overlapping).toBeLessThan(160);
  });
});

/** The faces of what two convex solids share are the faces of each, cut off at the planes of the other; volume by the divergence theorem. */
function commonVolume(a: Mesh, b: Mesh): number {
  return facesWithin(a, b) + facesWithin(b, a);
}

function facesWithin(one: Mesh, other: Mesh): number {
  const planes = trianglesOf(other).map(([p, q, r]) => {
    const normal = unit(cross(minus(q, p), minus(r, p)));
    return { normal, offset: dot(normal, p) };
  });
  let volume = 0;
  for (const triangle of trianglesOf(one)) {
    const face = planes.reduce<readonly Vec3[]>((rest, plane) => below(rest, plane), triangle);
    for (let k = 1; k + 1 < face.length; k++) volume += dot(face[0]!, cross(face[k]!, face[k + 1]!)) / 6;
  }
  return volume;
}

/** Sutherland and Hodgman 1974, for one plane. */
function below(ring: readonly Vec3[], { normal, offset }: Readonly<{ normal: Vec3; offset: number }>): Vec3[] {
  const out: Vec3[] = [];
  for (const [i, p] of ring.entries()) {
    const q = ring[(i + 1) % ring.length]!;
    const [dp, dq] = [dot(normal, p) - offset, dot(normal, q) - offset];
    if (dp <= 0) out.push(p);
    if (dp <= 0 === dq <= 0) continue;
    const t = dp / (dp - dq);
    out.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])]);
  }
  return out;
}

function trianglesOf(mesh: Mesh): (readonly [Vec3, Vec3, Vec3])[] {
  return Array.from({ length: mesh.triangles.length / 3 }, (_, t) => [
    corner(mesh, mesh.triangles[3 * t]!),
    corner(mesh, mesh.triangles[3 * t + 1]!),
    corner(mesh, mesh.triangles[3 * t + 2]!),
  ]);
}

function distance(a: Mesh, b: Mesh): number {
  const bvh = new MeshBVH(geometryOf(a));
  return bvh.closestPointToGeometry(geometryOf(b), new Matrix4())!.distance;
}

function geometryOf({ positions, triangles }: Mesh): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(Float32Array.from(positions), 3));
  geometry.setIndex(new BufferAttribute(Uint32Array.from(triangles), 1));
  return geometry;
}

function corner({ positions }: Mesh, v: number): Vec3 {
  return [positions[3 * v]!, positions[3 * v + 1]!, positions[3 * v + 2]!];
}

function minus(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function unit(a: Vec3): Vec3 {
  const length = Math.hypot(...a);
  return [a[0] / length, a[1] / length, a[2] / length];
}
