import type { Mesh } from '@stonehand/model';

/**
 * A closed mesh of boxes side by side: filled(i, j, k) says whether the cell from xs[i], ys[j], zs[k] to the next ones is solid. Faces
 * lie between a solid cell and an empty one, and neighbours share their corners. Cells that touch in an edge only would share
 * that edge four times over: leave none such.
 */
export function cellsMesh(
  xs: readonly number[],
  ys: readonly number[],
  zs: readonly number[],
  filled: (i: number, j: number, k: number) => boolean,
): Mesh {
  const [nx, ny, nz] = [xs.length - 1, ys.length - 1, zs.length - 1];
  const solid = (i: number, j: number, k: number): boolean =>
    i >= 0 && j >= 0 && k >= 0 && i < nx && j < ny && k < nz && filled(i, j, k);
  const positions: number[] = [];
  const triangles: number[] = [];
  const known = new Map<number, number>();
  const corner = (i: number, j: number, k: number): number => {
    const key = (i * (ny + 1) + j) * (nz + 1) + k;
    let at = known.get(key);
    if (at === undefined) {
      at = positions.length / 3;
      known.set(key, at);
      positions.push(xs[i], ys[j], zs[k]);
    }
    return at;
  };
  for (let i = 0; i < nx; i++)
    for (let j = 0; j < ny; j++)
      for (let k = 0; k < nz; k++) {
        if (!solid(i, j, k)) continue;
        for (const [[di, dj, dk], corners] of FACES) {
          if (solid(i + di, j + dj, k + dk)) continue;
          const [a, b, c, d] = corners.map(([x, y, z]) => corner(i + x, j + y, k + z));
          triangles.push(a, b, c, a, c, d);
        }
      }
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

type Steps = readonly [number, number, number];

/** Towards each side of a cell, and that side's corners, counter-clockwise seen from outside. */
const FACES: readonly (readonly [Steps, readonly Steps[]])[] = [
  [
    [-1, 0, 0],
    [
      [0, 0, 0],
      [0, 0, 1],
      [0, 1, 1],
      [0, 1, 0],
    ],
  ],
  [
    [1, 0, 0],
    [
      [1, 0, 0],
      [1, 1, 0],
      [1, 1, 1],
      [1, 0, 1],
    ],
  ],
  [
    [0, -1, 0],
    [
      [0, 0, 0],
      [1, 0, 0],
      [1, 0, 1],
      [0, 0, 1],
    ],
  ],
  [
    [0, 1, 0],
    [
      [0, 1, 0],
      [0, 1, 1],
      [1, 1, 1],
      [1, 1, 0],
    ],
  ],
  [
    [0, 0, -1],
    [
      [0, 0, 0],
      [0, 1, 0],
      [1, 1, 0],
      [1, 0, 0],
    ],
  ],
  [
    [0, 0, 1],
    [
      [0, 0, 1],
      [1, 0, 1],
      [1, 1, 1],
      [0, 1, 1],
    ],
  ],
];
