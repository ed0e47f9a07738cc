import { seededRandom } from '@stonehand/base';
import type { Mesh, Vec3 } from '@stonehand/model';

/** Polygon columns joined along z: profile points (radius, height) walked so that the body lies to the left, ring of given sides. */
export function lathe(profile: readonly (readonly [number, number])[], sides: number, turnRad: number = 0): Mesh {
  const p: number[] = [];
  for (const [r, z] of profile) {
    for (let k = 0; k < sides; k++) {
      const a = turnRad + (2 * Math.PI * k) / sides;
      p.push(r * Math.cos(a), r * Math.sin(a), z);
    }
  }
  const t: number[] = [];
  for (let i = 0; i < profile.length; i++) {
    const lower = i * sides;
    const upper = ((i + 1) % profile.length) * sides;
    for (let k = 0; k < sides; k++) {
      const n = (k + 1) % sides;
      t.push(lower + k, lower + n, upper + n, lower + k, upper + n, upper + k);
    }
  }
  return { positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] };
}

/** Tube: inner radius, outer radius, height, both walls polygons of so many sides. */
export function tube(inner: number, outer: number, height: number, sides: number, turnRad: number = 0): Mesh {
  return lathe(
    [
      [inner, 0],
      [outer, 0],
      [outer, height],
      [inner, height],
    ],
    sides,
    turnRad,
  );
}

/** Solid column of a regular polygon: a box of facets with caps fanned from the first corner. */
export function column(radius: number, height: number, sides: number, turnRad: number = 0): Mesh {
  const p: number[] = [];
  for (const z of [0, height]) {
    for (let k = 0; k < sides; k++) {
      const a = turnRad + (2 * Math.PI * k) / sides;
      p.push(radius * Math.cos(a), radius * Math.sin(a), z);
    }
  }
  const t: number[] = [];
  for (let k = 0; k < sides; k++) {
    const n = (k + 1) % sides;
    t.push(k, n, sides + n, k, sides + n, sides + k);
    if (k > 1) t.push(0, k, k - 1, sides, sides + k - 1, sides + k);
  }
  return { positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] };
}

export function box(size: Vec3, at: Vec3 = [0, 0, 0]): Mesh {
  const p: number[] = [];
  for (const z of [0, 1])
    for (const y of [0, 1])
      for (const x of [0, 1]) p.push(at[0] + x * size[0], at[1] + y * size[1], at[2] + z * size[2]);
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  return {
    positions: Float64Array.from(p),
    triangles: Uint32Array.from(quads.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!])),
    originMm: [0, 0, 0],
  };
}

/** Bodies side by side in one mesh. */
export function together(...meshes: readonly Mesh[]): Mesh {
  const p: number[] = [];
  const t: number[] = [];
  for (const mesh of meshes) {
    const first = p.length / 3;
    p.push(...mesh.positions);
    for (const v of mesh.triangles) t.push(first + v);
  }
  return { positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] };
}

/** An L of three unlike arms: no symmetry, so a mirror image is another shape. */
export function handed(): Mesh {
  return together(
    box([40, 8, 8]),
    box([8, 24, 8], [0, 8.5, 0]),
    box([8, 8, 15], [20, 0, 8.5]),
    box([3, 5, 2], [5, 30, 8.5]),
  );
}

/** The same surface with triangles and vertices in another order and triangles starting at other corners. */
export function shuffled(mesh: Mesh, seed: number): Mesh {
  const random = seededRandom(seed);
  const n = mesh.positions.length / 3;
  const to = permutation(n, random.below);
  const positions = mesh.positions.slice();
  for (let v = 0; v < n; v++) for (let k = 0; k < 3; k++) positions[3 * to[v]! + k] = mesh.positions[3 * v + k]!;
  const order = permutation(mesh.triangles.length / 3, random.below);
  const triangles = new Uint32Array(mesh.triangles.length);
  order.forEach((from, i) => {
    const start = random.below(3);
    for (let k = 0; k < 3; k++) triangles[3 * i + k] = to[mesh.triangles[3 * from + ((start + k) % 3)]!]!;
  });
  return { ...mesh, positions, triangles };
}

function permutation(n: number, below: (n: number) => number): number[] {
  const out = Array.from({ length: n }, (_, i) => i);
  for (let i = n - 1; i > 0; i--) {
    const j = below(i + 1);
    [out[i], out[j]] = [out[j]!, out[i]!];
  }
  return out;
}

export function scaledBy(mesh: Mesh, s: number): Mesh {
  return { ...mesh, positions: mesh.positions.map((v) => v * s) };
}

export function mirroredX(mesh: Mesh): Mesh {
  const triangles = mesh.triangles.slice();
  for (let k = 0; k < triangles.length; k += 3)
    [triangles[k + 1], triangles[k + 2]] = [triangles[k + 2]!, triangles[k + 1]!];
  return { ...mesh, positions: mesh.positions.map((v, i) => (i % 3 === 0 ? -v : v)), triangles };
}

export function shifted(mesh: Mesh, by: Vec3): Mesh {
  return { ...mesh, positions: mesh.positions.map((v, i) => v + by[i % 3]!) };
}

/** A beaker: closed floor, open top. */
export function cup(inner: number, outer: number, floor: number, height: number, sides: number): Mesh {
  const rings = [
    [outer, 0],
    [outer, height],
    [inner, height],
    [inner, floor],
  ] as const;
  const p = rings.flatMap(([r, z]) =>
    Array.from({ length: sides }, (_, k) => [
      r * Math.cos((2 * Math.PI * k) / sides),
      r * Math.sin((2 * Math.PI * k) / sides),
      z,
    ]).flat(),
  );
  const below = p.length / 3;
  p.push(0, 0, 0, 0, 0, floor);
  const t: number[] = [];
  for (let k = 0; k < sides; k++) {
    const n = (k + 1) % sides;
    for (let i = 0; i < 3; i++)
      t.push(
        i * sides + k,
        i * sides + n,
        (i + 1) * sides + n,
        i * sides + k,
        (i + 1) * sides + n,
        (i + 1) * sides + k,
      );
    t.push(below, n, k, below + 1, 3 * sides + k, 3 * sides + n);
  }
  return { positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] };
}
