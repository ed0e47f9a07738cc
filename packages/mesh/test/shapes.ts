import { weld } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import fc from 'fast-check';

/** The convex body of a few points, every face fan-split, facing outwards. Brute force over all planes: small sets only. */
export function convexBody(points: readonly Vec3[]): Mesh {
  const soup: number[] = [];
  const done = new Set<string>();
  const size = Math.max(...points.flat().map(Math.abs));
  for (const [i, a] of points.entries()) {
    for (const [j, b] of points.entries()) {
      for (const c of points.slice(j + 1)) {
        if (j <= i) continue;
        const normal = cross(minus(b, a), minus(c, a));
        const heights = points.map((p) => dot(normal, minus(p, a)) / size ** 3);
        const above = heights.some((h) => h > FLAT);
        const below = heights.some((h) => h < -FLAT);
        if (above === below) continue; // cuts through the body, or the three lie on a line
        const face = points.filter((_, k) => Math.abs(heights[k]!) <= FLAT);
        const key = face.map((p) => points.indexOf(p)).join();
        if (done.has(key)) continue;
        done.add(key);
        const outward: Vec3 = above ? [-normal[0], -normal[1], -normal[2]] : normal;
        const ring = around(face, outward);
        for (let k = 2; k < ring.length; k++) soup.push(...ring[0]!, ...ring[k - 1]!, ...ring[k]!);
      }
    }
  }
  return weld(Float64Array.from(soup));
}

const FLAT = 1e-9; // share of the cube of the size; the shapes used here have angles far larger

function around(face: readonly Vec3[], normal: Vec3): Vec3[] {
  const middle = [0, 1, 2].map((i) => face.reduce((sum, p) => sum + p[i]!, 0) / face.length) as unknown as Vec3;
  const u = minus(face[0]!, middle);
  const v = cross(normal, u);
  const angle = (p: Vec3): number =>
    Math.atan2(dot(minus(p, middle), v) / dot(v, v), dot(minus(p, middle), u) / dot(u, u));
  // v is |n| times longer than u; dividing each by its own square leaves a stretched circle, in which the order is the same.
  return [...face].sort((p, q) => angle(p) - angle(q));
}

export function boxOf(x: number, y: number, z: number): Mesh {
  const corners: Vec3[] = [];
  for (const i of [0, x]) for (const j of [0, y]) for (const k of [0, z]) corners.push([i, j, k]);
  return convexBody(corners);
}

/** A straight column over a regular polygon. */
export function ngonColumn(n: number, radius: number, height: number): Mesh {
  const soup: number[] = [];
  const at = (k: number): [number, number] => [
    radius * Math.cos((2 * Math.PI * (k % n)) / n),
    radius * Math.sin((2 * Math.PI * (k % n)) / n),
  ];
  for (let k = 0; k < n; k++) {
    const p = at(k);
    const q = at(k + 1);
    soup.push(...p, 0, ...q, 0, ...q, height, ...p, 0, ...q, height, ...p, height);
    soup.push(0, 0, 0, ...q, 0, ...p, 0, 0, 0, height, ...p, height, ...q, height);
  }
  return weld(Float64Array.from(soup));
}

/** A closed surface of rings of points; genus 1 when both ways close, else a ball with two poles. */
export function bumpySurface(radii: readonly number[], around: number, genus: 0 | 1): Mesh {
  const rings = radii.length / around;
  const point = (ring: number, k: number): Vec3 => {
    const i = (ring + rings) % rings;
    const j = (k + around) % around;
    const r = radii[i * around + j]!;
    const turn = (2 * Math.PI * j) / around;
    if (genus === 1) {
      const tilt = (2 * Math.PI * i) / rings;
      const out = 30 + r * Math.cos(tilt);
      return [out * Math.cos(turn), out * Math.sin(turn), r * Math.sin(tilt)];
    }
    const tilt = Math.PI * ((i + 1) / (rings + 1) - 0.5);
    return [r * Math.cos(tilt) * Math.cos(turn), r * Math.cos(tilt) * Math.sin(turn), r * Math.sin(tilt)];
  };
  const soup: number[] = [];
  const lastRing = genus === 1 ? rings : rings - 1;
  for (let i = 0; i < lastRing; i++) {
    for (let k = 0; k < around; k++) {
      soup.push(...point(i, k), ...point(i, k + 1), ...point(i + 1, k + 1));
      soup.push(...point(i, k), ...point(i + 1, k + 1), ...point(i + 1, k));
    }
  }
  for (let k = 0; genus === 0 && k < around; k++) {
    soup.push(0, 0, -12, ...point(0, k + 1), ...point(0, k));
    soup.push(0, 0, 12, ...point(rings - 1, k), ...point(rings - 1, k + 1));
  }
  return weld(Float64Array.from(soup));
}

/** Closed bodies that are seldom convex: bumpy balls and bumpy rings, facing outwards. */
export function closedMesh(): fc.Arbitrary<Mesh> {
  return fc
    .tuple(fc.integer({ min: 3, max: 7 }), fc.integer({ min: 3, max: 9 }), fc.constantFrom<0 | 1>(0, 1))
    .chain(([rings, around, genus]) =>
      fc
        .array(fc.double({ min: 2, max: 20, noNaN: true }), { minLength: rings * around, maxLength: rings * around })
        .map((radii) => bumpySurface(radii, around, genus)),
    );
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
