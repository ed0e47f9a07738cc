import { readFileSync } from 'node:fs';
import { bytesSource, readMesh } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';

/** Reference meshes and what independent libraries measure on them; not part of the repository. */
export const REFERENCE = new URL('../../../../shared/data/meshes/', import.meta.url);

export async function readReference(name: string): Promise<Mesh> {
  const bytes = readFileSync(new URL(name, REFERENCE));
  return (await readMesh(bytesSource(name, bytes))).mesh;
}

export function meshOf(positions: readonly number[], triangles: readonly number[]): Mesh {
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

/** Axis-parallel block from (x, y, z) with the sizes (a, b, c). */
export function block(a: number, b: number, c: number, x = 0, y = 0, z = 0): Mesh {
  const p: number[] = [];
  for (let i = 0; i < 8; i++) p.push(x + (i & 1 ? a : 0), y + (i & 2 ? b : 0), z + (i & 4 ? c : 0));
  const faces = [
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ];
  return meshOf(p, faces);
}

/**
 * Solid between outlines: profile is a closed ring of (radius, z), counter-clockwise in the r, z half-plane, turned about
 * the z axis in n steps. Radius 0 makes a pole.
 */
export function turned(profile: readonly (readonly [number, number])[], n: number): Mesh {
  const p: number[] = [];
  const first: number[] = [];
  for (const [r, z] of profile) {
    first.push(p.length / 3);
    if (r === 0) p.push(0, 0, z);
    else
      for (let i = 0; i < n; i++) p.push(r * Math.cos((2 * Math.PI * i) / n), r * Math.sin((2 * Math.PI * i) / n), z);
  }
  const tri: number[] = [];
  const at = (ring: number, i: number): number => first[ring] + (profile[ring][0] === 0 ? 0 : i % n);
  for (let k = 0; k < profile.length; k++) {
    const l = (k + 1) % profile.length;
    for (let i = 0; i < n; i++) {
      const quad = [at(k, i), at(k, i + 1), at(l, i + 1), at(l, i)];
      if (quad[0] !== quad[1]) tri.push(quad[0], quad[1], quad[2]);
      if (quad[2] !== quad[3]) tri.push(quad[0], quad[2], quad[3]);
    }
  }
  return meshOf(p, tri);
}

export function ball(radius: number, around: number, up: number): Mesh {
  const profile: [number, number][] = [];
  for (let j = 0; j <= up; j++) {
    const a = -Math.PI / 2 + (Math.PI * j) / up;
    profile.push([j === 0 || j === up ? 0 : radius * Math.cos(a), radius * Math.sin(a)]);
  }
  return turned(profile, around);
}

export function torus(ringRadius: number, tubeRadius: number, around: number, tube: number): Mesh {
  const profile: [number, number][] = [];
  for (let j = 0; j < tube; j++) {
    const a = (2 * Math.PI * j) / tube;
    profile.push([ringRadius + tubeRadius * Math.cos(a), tubeRadius * Math.sin(a)]);
  }
  return turned(profile, around);
}

export function merged(...meshes: readonly Mesh[]): Mesh {
  const p: number[] = [];
  const tri: number[] = [];
  for (const m of meshes) {
    const base = p.length / 3;
    p.push(...m.positions);
    for (const v of m.triangles) tri.push(base + v);
  }
  return meshOf(p, tri);
}

export function insideOut(mesh: Mesh): Mesh {
  const triangles = mesh.triangles.slice();
  for (let h = 0; h < triangles.length; h += 3) [triangles[h], triangles[h + 1]] = [triangles[h + 1], triangles[h]];
  return { ...mesh, triangles };
}

/** Enclosed volume: sum of signed tetrahedra to the origin. */
export function volumeOf(mesh: Mesh): number {
  const { positions: p, triangles: t } = mesh;
  let sum = 0;
  for (let h = 0; h < t.length; h += 3) {
    const [a, b, c] = [3 * t[h], 3 * t[h + 1], 3 * t[h + 2]];
    sum += p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]);
    sum += p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]);
    sum += p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
  }
  return sum / 6;
}
