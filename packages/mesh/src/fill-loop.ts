import type { Vec3 } from '@stonehand/model';
import { polygonTriangles } from './polygon-triangles.ts';

/** Loops up to here are filled with least area, in n³/6 steps. */
const LEAST_AREA_CORNERS = 400;

/** How far a longer loop may leave its plane, as a share of its size, to be filled as a flat face. */
const FLAT_SHARE = 0.01;

/**
 * Triangles that fill a closed loop of points without new ones.
 * Up to 400 corners the filling of least area (Barequet and Sharir 1995, "Filling gaps in the boundary of a polyhedron", from
 * memory), which follows the plane of a flat loop and spans a bent one; longer loops only when they are flat.
 * @param isTaken whether the surface already has an edge between two corners of the loop that are not neighbours in it
 * @returns three corner numbers per triangle, wound as the loop; undefined when there is no filling
 */
export function fillLoop(points: readonly Vec3[], isTaken: (i: number, j: number) => boolean): number[] | undefined {
  if (points.length < 3) return undefined;
  if (points.length > LEAST_AREA_CORNERS) return fillFlat(points, isTaken);
  return fillLeastArea(points, isTaken);
}

function fillFlat(points: readonly Vec3[], isTaken: (i: number, j: number) => boolean): number[] | undefined {
  const n = points.length;
  const middle = mean(points);
  const normal: [number, number, number] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const a = minus(points[i], middle);
    const b = minus(points[(i + 1) % n], middle);
    normal[0] += a[1] * b[2] - a[2] * b[1];
    normal[1] += a[2] * b[0] - a[0] * b[2];
    normal[2] += a[0] * b[1] - a[1] * b[0];
  }
  const length = Math.hypot(...normal);
  const size = Math.max(...points.map((p) => Math.hypot(...minus(p, middle))));
  const isFlat = points.every((p) => Math.abs(dot(minus(p, middle), normal)) <= FLAT_SHARE * size * length);
  if (!isFlat || !(length > 0)) return undefined;
  const filling: number[] = [];
  const flat = Float64Array.from(points.flat());
  polygonTriangles(flat, [...points.keys()], (a, b, c) => filling.push(a, b, c));
  for (let k = 0; k < filling.length; k++) {
    const i = filling[k];
    const j = filling[k % 3 === 2 ? k - 2 : k + 1];
    if (!areNeighbours(i, j, n) && isTaken(i, j)) return undefined;
  }
  return filling;
}

function areNeighbours(i: number, j: number, n: number): boolean {
  const apart = Math.abs(i - j);
  return apart === 1 || apart === n - 1;
}

/** cost[i][j]: least area of a filling between corners i … j and the chord from j back to i. */
function fillLeastArea(points: readonly Vec3[], isTaken: (i: number, j: number) => boolean): number[] | undefined {
  const n = points.length;
  const p = Float64Array.from(points.flat());
  const cost = new Float64Array(n * n);
  const apex = new Int32Array(n * n).fill(-1);
  for (let span = 2; span < n; span++) {
    for (let i = 0; i + span < n; i++) {
      const j = i + span;
      let best = Infinity;
      if (span === n - 1 || !isTaken(i, j)) {
        for (let k = i + 1; k < j; k++) {
          const halves = cost[i * n + k] + cost[k * n + j];
          if (halves >= best) continue;
          const total = halves + area(p, i, k, j);
          if (total >= best) continue;
          best = total;
          apex[i * n + j] = k;
        }
      }
      cost[i * n + j] = best;
    }
  }
  if (!(cost[n - 1] < Infinity)) return undefined;
  const filling: number[] = [];
  const open: [number, number][] = [[0, n - 1]];
  while (open.length > 0) {
    const [i, j] = open.pop()!;
    if (j - i < 2) continue;
    const k = apex[i * n + j];
    filling.push(i, k, j);
    open.push([i, k], [k, j]);
  }
  return filling;
}

function area(p: Float64Array, i: number, j: number, k: number): number {
  const ux = p[3 * j] - p[3 * i];
  const uy = p[3 * j + 1] - p[3 * i + 1];
  const uz = p[3 * j + 2] - p[3 * i + 2];
  const vx = p[3 * k] - p[3 * i];
  const vy = p[3 * k + 1] - p[3 * i + 1];
  const vz = p[3 * k + 2] - p[3 * i + 2];
  const nx = uy * vz - uz * vy;
  const ny = uz * vx - ux * vz;
  const nz = ux * vy - uy * vx;
  return Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
}

function mean(points: readonly Vec3[]): Vec3 {
  const along = (k: 0 | 1 | 2): number => points.reduce((sum, p) => sum + p[k], 0) / points.length;
  return [along(0), along(1), along(2)];
}

function minus(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
