import { mergeMeshes, turnInsideOut } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';

const mesh = (positions: readonly number[], triangles: readonly number[]): Mesh => ({
  positions: Float64Array.from(positions),
  triangles: Uint32Array.from(triangles),
  originMm: [0, 0, 0],
});

export function box(size: Vec3, at: Vec3 = [0, 0, 0]): Mesh {
  const corners = Array.from({ length: 8 }, (_, i) =>
    [0, 1, 2].map((d) => at[d]! + (((i >> d) & 1) === 1 ? size[d]! : 0)),
  );
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  return mesh(
    corners.flat(),
    quads.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!]),
  );
}

/** An L of two bars on one footprint: its step is a face that a cut may lie in. */
export function step(): Mesh {
  const outline = [0, 0, 40, 0, 40, 10, 20, 10, 20, 30, 0, 30];
  const n = outline.length / 2;
  const positions: number[] = [];
  for (const y of [0, 15]) for (let i = 0; i < n; i++) positions.push(outline[2 * i]!, y, outline[2 * i + 1]!);
  const front = [0, 1, 2, 0, 2, 3, 0, 3, 5, 3, 4, 5];
  const triangles = [...front];
  for (let t = 0; t < front.length; t += 3) triangles.push(front[t]! + n, front[t + 2]! + n, front[t + 1]! + n);
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    triangles.push(i, i + n, j + n, i, j + n, j);
  }
  return mesh(positions, triangles);
}

/** Torus around z; exact for the polygons it is made of. */
export function torus(R: number, r: number, around = 48, across = 24): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i < around; i++) {
    for (let j = 0; j < across; j++) {
      const a = (2 * Math.PI * i) / around;
      const b = (2 * Math.PI * j) / across;
      positions.push((R + r * Math.cos(b)) * Math.cos(a), (R + r * Math.cos(b)) * Math.sin(a), r * Math.sin(b));
      const k = ((i + 1) % around) * across;
      const m = (j + 1) % across;
      triangles.push(i * across + j, k + j, k + m, i * across + j, k + m, i * across + m);
    }
  }
  return mesh(positions, triangles);
}

export function ball(r: number, rings = 24, around = 32): Mesh {
  const positions = [0, 0, -r];
  const triangles: number[] = [];
  for (let i = 1; i < rings; i++) {
    const lat = -Math.PI / 2 + (Math.PI * i) / rings;
    for (let j = 0; j < around; j++) {
      const a = (2 * Math.PI * j) / around;
      positions.push(r * Math.cos(lat) * Math.cos(a), r * Math.cos(lat) * Math.sin(a), r * Math.sin(lat));
    }
  }
  positions.push(0, 0, r);
  const top = positions.length / 3 - 1;
  for (let j = 0; j < around; j++) {
    const k = (j + 1) % around;
    triangles.push(0, 1 + k, 1 + j);
    for (let i = 0; i + 2 < rings; i++) {
      const a = 1 + i * around;
      triangles.push(a + j, a + k, a + around + k, a + j, a + around + k, a + around + j);
    }
    const last = 1 + (rings - 2) * around;
    triangles.push(last + j, last + k, top);
  }
  return mesh(positions, triangles);
}

export function hollowBall(outer: number, inner: number, rings = 16, around = 20): Mesh {
  return mergeMeshes([ball(outer, rings, around), turnInsideOut(ball(inner, rings, around))]);
}

/** Open at both ends, around z. */
export function tube(outer: number, inner: number, heightMm: number, around = 64): Mesh {
  const positions: number[] = [];
  for (const z of [0, heightMm]) {
    for (const r of [outer, inner]) {
      for (let i = 0; i < around; i++) {
        const a = (2 * Math.PI * i) / around;
        positions.push(r * Math.cos(a), r * Math.sin(a), z);
      }
    }
  }
  const triangles: number[] = [];
  const quad = (a: number, b: number, c: number, d: number): void => {
    triangles.push(a, b, c, a, c, d);
  };
  for (let i = 0; i < around; i++) {
    const j = (i + 1) % around;
    const [out, into, outTop, intoTop] = [0, around, 2 * around, 3 * around];
    quad(out + i, out + j, outTop + j, outTop + i);
    quad(into + j, into + i, intoTop + i, intoTop + j);
    quad(out + j, out + i, into + i, into + j);
    quad(outTop + i, outTop + j, intoTop + j, intoTop + i);
  }
  return mesh(positions, triangles);
}
