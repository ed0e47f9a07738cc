import type { Mesh, Ring, Vec3 } from '@stonehand/model';

/** Box with its least corner at the origin: 8 corners, 12 triangles. */
export function box(x: number, y: number, z: number): Mesh {
  const p: number[] = [];
  for (const c of [0, z]) for (const b of [0, y]) for (const a of [0, x]) p.push(a, b, c);
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ] as const;
  return {
    positions: Float64Array.from(p),
    triangles: Uint32Array.from(quads.flatMap(([a, b, c, d]) => [a, b, c, a, c, d])),
    originMm: [0, 0, 0],
  };
}

/**
 * Body of revolution about z from a closed profile of (radius, height), counter-clockwise in the r–z plane (outward to the right
 * of the walk). Points on the axis are one vertex. squash scales y, bend moves the section along x with height.
 */
export function lathe(
  profile: readonly (readonly [number, number])[],
  sides: number,
  { squash = 1, bend = (_z: number): number => 0 } = {},
): Mesh {
  const p: number[] = [];
  const at = profile.map(([r, z]) => {
    const first = p.length / 3;
    const n = r === 0 ? 1 : sides;
    for (let k = 0; k < n; k++) {
      const a = (2 * Math.PI * k) / sides;
      p.push(r * Math.cos(a) + bend(z), squash * r * Math.sin(a), z);
    }
    return { first, n };
  });
  const triangles: number[] = [];
  const add = (a: number, b: number, c: number): void => {
    if (a !== b && b !== c && c !== a) triangles.push(a, b, c);
  };
  for (let i = 0; i < profile.length; i++) {
    const lower = at[i]!;
    const upper = at[(i + 1) % profile.length]!;
    if (lower.n === 1 && upper.n === 1) continue;
    for (let k = 0; k < sides; k++) {
      const l0 = lower.first + (k % lower.n);
      const l1 = lower.first + ((k + 1) % lower.n);
      const u0 = upper.first + (k % upper.n);
      const u1 = upper.first + ((k + 1) % upper.n);
      add(l0, l1, u1);
      add(l0, u1, u0);
    }
  }
  return { positions: Float64Array.from(p), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

/** Open-bottomed dome of the given wall: what a skull or a shell looks like. */
export function dome(radius: number, height: number, wall: number, sides: number, squash: number = 1): Mesh {
  const steps = 24;
  const arc = (r: number, h: number): [number, number][] =>
    Array.from({ length: steps + 1 }, (_, i) => {
      const a = (Math.PI / 2) * (i / steps);
      return i === steps ? [0, h] : [r * Math.cos(a), h * Math.sin(a)];
    });
  return lathe([...arc(radius, height), ...arc(radius - wall, height - wall).reverse()], sides, { squash });
}

/** Ring or tube standing on the plate. */
export function tube(outer: number, inner: number, height: number, sides: number = 64): Mesh {
  return lathe(
    [
      [inner, 0],
      [outer, 0],
      [outer, height],
      [inner, height],
    ],
    sides,
  );
}

/** Post with a wider table on top: the textbook case of an overhang. */
export function mushroom(postR: number, capR: number, postH: number, capH: number, sides: number = 64): Mesh {
  return lathe(
    [
      [0, 0],
      [postR, 0],
      [postR, postH],
      [capR, postH],
      [capR, postH + capH],
      [0, postH + capH],
    ],
    sides,
  );
}

export function ball(radius: number, sides: number): Mesh {
  const steps = Math.max(4, Math.round(sides / 2));
  const profile = Array.from({ length: steps + 1 }, (_, i): [number, number] => {
    const a = -Math.PI / 2 + (Math.PI * i) / steps;
    return i === 0 ? [0, 0] : i === steps ? [0, 2 * radius] : [radius * Math.cos(a), radius + radius * Math.sin(a)];
  });
  return lathe(profile, sides);
}

/** Moved so that the least corner of its box is at the origin. */
export function grounded(mesh: Mesh): Mesh {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  for (let i = 0; i < mesh.positions.length; i++) low[i % 3] = Math.min(low[i % 3]!, mesh.positions[i]!);
  return { ...mesh, positions: mesh.positions.map((v, i) => v - low[i % 3]!) };
}

export function turned(mesh: Mesh, r: readonly number[]): Mesh {
  const out = new Float64Array(mesh.positions.length);
  for (let i = 0; i < out.length; i += 3) {
    const [x, y, z] = [mesh.positions[i]!, mesh.positions[i + 1]!, mesh.positions[i + 2]!];
    for (let k = 0; k < 3; k++) out[i + k] = r[3 * k]! * x + r[3 * k + 1]! * y + r[3 * k + 2]! * z;
  }
  return { ...mesh, positions: out };
}

export function sizeOf(mesh: Mesh): Vec3 {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  mesh.positions.forEach((v, i) => {
    low[i % 3] = Math.min(low[i % 3]!, v);
    high[i % 3] = Math.max(high[i % 3]!, v);
  });
  return [high[0]! - low[0]!, high[1]! - low[1]!, high[2]! - low[2]!];
}

/** Signed volume, by tetrahedra to the origin. */
export function volumeOf(mesh: Mesh): number {
  let sum = 0;
  const { positions: p, triangles: t } = mesh;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k]!, 3 * t[k + 1]!, 3 * t[k + 2]!];
    sum +=
      p[a]! * (p[b + 1]! * p[c + 2]! - p[b + 2]! * p[c + 1]!) +
      p[a + 1]! * (p[b + 2]! * p[c]! - p[b]! * p[c + 2]!) +
      p[a + 2]! * (p[b]! * p[c + 1]! - p[b + 1]! * p[c]!);
  }
  return sum / 6;
}

export function ellipse(w: number, d: number, n: number = 48, hole: number = 0): Ring[] {
  const ring = (s: number, sign: number): Ring =>
    Array.from({ length: n }, (_, i) => {
      const a = (sign * 2 * Math.PI * i) / n;
      return [w / 2 + (s * w * Math.cos(a)) / 2, d / 2 + (s * d * Math.sin(a)) / 2] as const;
    });
  return hole > 0 ? [ring(1, 1), ring(hole, -1)] : [ring(1, 1)];
}

export function rectangle(w: number, d: number): Ring[] {
  return [
    [
      [0, 0],
      [w, 0],
      [w, d],
      [0, d],
    ],
  ];
}
