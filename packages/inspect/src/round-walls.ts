import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { triangleArea } from './surface-moments.ts';
import { symmetricEigen } from './symmetric-eigen.ts';

// A hexagon turns 60° from flat to flat; one degree more for rounding. Beyond that an edge is an edge.
const TURN_MOST = Math.cos((61 * Math.PI) / 180);
export const TURN_LEAST: number = Math.cos((0.5 * Math.PI) / 180); // less is one flat: corners off by 5 µm bend a facet of 1 mm so much
const ACROSS_SIN = 0.02; // walls square to the axis to about 1°
// Bends gentler than this across the axis are a doubly curved surface, not the first step of a fillet at a rim.
export const SMOOTH: number = Math.cos((3 * Math.PI) / 180);
const GENTLE_MOST = 8;
const ALONG_COS = Math.cos((6 * Math.PI) / 180); // a crease between facets runs along the axis

/** mark holds the number of the last wall that looked at a triangle; tried the axis of a wall that failed there, 3 a triangle. */
export type Work = {
  readonly mesh: Mesh;
  readonly twins: Int32Array;
  readonly normals: Float64Array;
  readonly areas: Float64Array;
  readonly taken: Uint8Array;
  readonly mark: Int32Array;
  readonly tried: Float64Array;
  readonly closed: boolean;
  walls: number;
};
export type Wall = Readonly<{ triangles: readonly number[]; axis: Vec3; broken?: boolean }>;

export function prepare(mesh: Mesh): Work {
  const { positions: p, triangles: t } = mesh;
  const count = t.length / 3;
  const normals = new Float64Array(t.length);
  const areas = new Float64Array(count);
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
    const ux = p[b] - p[a];
    const uy = p[b + 1] - p[a + 1];
    const uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a];
    const vy = p[c + 1] - p[a + 1];
    const vz = p[c + 2] - p[a + 2];
    const n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const length = Math.hypot(n[0], n[1], n[2]);
    areas[k / 3] = triangleArea(p, a, b, c);
    if (length > 0) for (let i = 0; i < 3; i++) normals[k + i] = n[i] / length;
  }
  const twins = halfEdgeTwins(mesh);
  return {
    mesh,
    twins,
    normals,
    areas,
    taken: new Uint8Array(count),
    mark: new Int32Array(count),
    tried: new Float64Array(t.length),
    walls: 0,
    closed: twins.every((h) => h >= 0),
  };
}

export function cosBetween({ normals: n }: Work, s: number, t: number): number {
  return n[3 * s] * n[3 * t] + n[3 * s + 1] * n[3 * t + 1] + n[3 * s + 2] * n[3 * t + 2];
}

export function bends(work: Work, s: number, t: number): boolean {
  const cos = cosBetween(work, s, t);
  return cos < TURN_LEAST && cos > TURN_MOST;
}

export function axisOf({ normals: n }: Work, s: number, t: number): Vec3 {
  const x = n[3 * s + 1] * n[3 * t + 2] - n[3 * s + 2] * n[3 * t + 1];
  const y = n[3 * s + 2] * n[3 * t] - n[3 * s] * n[3 * t + 2];
  const z = n[3 * s] * n[3 * t + 1] - n[3 * s + 1] * n[3 * t];
  const length = Math.hypot(x, y, z);
  return [x / length, y / length, z / length];
}

/** Every triangle of a long wall that is no bore would grow the whole wall again. */
export function failedBefore({ tried }: Work, t: number, axis: Vec3): boolean {
  return Math.abs(tried[3 * t] * axis[0] + tried[3 * t + 1] * axis[1] + tried[3 * t + 2] * axis[2]) > 0.9998;
}

/**
 * On a ball or a saddle the surface also bends gently the other way; a bore's facets go straight along its axis. Steps over 3° may be
 * a chamfer or fillet at the rim and say nothing. Saves growing a wall from every triangle of a smooth shape.
 */
export function bendsGently(work: Work, seed: number, axis: Vec3): boolean {
  const { twins, normals } = work;
  for (let k = 0; k < 3; k++) {
    const twin = twins[3 * seed + k];
    if (twin < 0) continue;
    const other = Math.floor(twin / 3);
    const cos = cosBetween(work, seed, other);
    const along = Math.abs(
      normals[3 * other] * axis[0] + normals[3 * other + 1] * axis[1] + normals[3 * other + 2] * axis[2],
    );
    if (cos < TURN_LEAST && cos > SMOOTH && along > Math.sin((0.2 * Math.PI) / 180)) return true;
  }
  return false;
}

/**
 * All triangles that hang together around the seed and stand along the axis, over edges that run along it; then the axis that suits all of
 * them best. Given up, unfinished, once the surface has bent gently another way at more than a few places.
 */
export function growWall(work: Work, seed: number, start: Vec3): Wall {
  const { normals, twins, areas, mark, taken } = work;
  let gentle = 0;
  const across = (t: number, axis: Vec3): boolean =>
    Math.abs(normals[3 * t] * axis[0] + normals[3 * t + 1] * axis[1] + normals[3 * t + 2] * axis[2]) < ACROSS_SIN &&
    areas[t] > 0;
  const wall = ++work.walls;
  const triangles = [seed];
  mark[seed] = wall;
  for (let i = 0; i < triangles.length; i++) {
    for (let k = 0; k < 3; k++) {
      const twin = twins[3 * triangles[i] + k];
      if (twin < 0) continue;
      const t = Math.floor(twin / 3);
      if (mark[t] === wall || taken[t] === 1) continue;
      const cos = cosBetween(work, triangles[i], t);
      if (cos < TURN_MOST) continue;
      const alongEdge = cos > TURN_LEAST || edgeAlong(work, 3 * triangles[i] + k, start);
      if (across(t, start) && alongEdge) {
        mark[t] = wall;
        triangles.push(t);
      } else if (cos < TURN_LEAST && cos > SMOOTH && ++gentle > GENTLE_MOST)
        return { triangles, axis: start, broken: true };
    }
  }
  const m = new Array<number>(9).fill(0);
  for (const t of triangles) {
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) m[3 * i + j] += areas[t] * normals[3 * t + i] * normals[3 * t + j];
  }
  // The direction that the normals have least of; turned so that its largest component is positive.
  const [x, y, z] = symmetricEigen(m, 3).vectors[0];
  const largest = Math.abs(x) >= Math.abs(y) && Math.abs(x) >= Math.abs(z) ? x : Math.abs(y) >= Math.abs(z) ? y : z;
  const sign = largest < 0 ? -1 : 1;
  return { triangles, axis: [sign * x + 0, sign * y + 0, sign * z + 0] };
}

function edgeAlong({ mesh: { positions: p, triangles: t } }: Work, h: number, axis: Vec3): boolean {
  const a = 3 * t[h];
  const b = 3 * t[h % 3 === 2 ? h - 2 : h + 1];
  const x = p[b] - p[a];
  const y = p[b + 1] - p[a + 1];
  const z = p[b + 2] - p[a + 2];
  return Math.abs(x * axis[0] + y * axis[1] + z * axis[2]) >= ALONG_COS * Math.hypot(x, y, z);
}
