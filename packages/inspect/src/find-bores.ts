import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { fitCircle } from './fit-circle.ts';
import { triangleArea } from './surface-moments.ts';
import { symmetricEigen } from './symmetric-eigen.ts';
import { buildTree, isInside } from './triangle-tree.ts';

export type Bore = Readonly<{
  /** a bore is hollow, a boss stands out */
  kind: 'bore' | 'boss';
  /** six flats at even angles are a hexagon (a nut's pocket or a spanner's head); few flats another polygon; more are round */
  outline: 'round' | 'hexagon' | 'polygon';
  /** across the corners of the facets: what a drawing means when a round hole was drawn as facets inside its circle */
  cornersMm: number;
  /** across the flats: the largest pin that passes a bore (the spanner size of a hexagon) */
  flatsMm: number;
  facets: number;
  /** along the axis, of the round wall alone */
  depthMm: number;
  /** middle of the axis within the wall */
  atMm: Vec3;
  /** unit direction; of the two the one with its largest component positive */
  axis: Vec3;
  /** both ends of a bore open; absent for a boss and for a mesh that is not closed */
  through?: boolean;
  triangles: number;
}>;

export type BoreOptions = Readonly<{
  leastMm?: number;
  mostMm?: number;
  /** how far corners may lie off the circle, beside half a percent of its radius */
  roundnessMm?: number;
}>;

// A hexagon turns 60° from flat to flat; one degree more for rounding. Beyond that an edge is an edge.
const TURN_MOST = Math.cos((61 * Math.PI) / 180);
const TURN_LEAST = Math.cos((0.2 * Math.PI) / 180); // less is one flat
const ACROSS_SIN = 0.02; // walls square to the axis to about 1°
const ROUND_FACETS = 9;
// Bends gentler than this across the axis are a doubly curved surface, not the first step of a fillet at a rim.
const SMOOTH = Math.cos((3 * Math.PI) / 180);
const GENTLE_MOST = 8;
const ALONG_COS = Math.cos((6 * Math.PI) / 180); // a crease between facets runs along the axis

/**
 * Full round (or regular polygonal) walls: neighbouring facets whose normals are square to one axis and whose corners lie on one circle all
 * the way round. Rims that are only part of a circle, cones, tapped threads and slots are not bores. Order: by diameter, then place.
 */
export function findBores(mesh: Mesh, { leastMm = 0.5, mostMm = 1000, roundnessMm = 0.02 }: BoreOptions = {}): Bore[] {
  const work = prepare(mesh);
  const found: Bore[] = [];
  const triangles = mesh.triangles.length / 3;
  for (let seed = 0; seed < triangles; seed++) {
    if (work.taken[seed] === 1) continue;
    for (let k = 0; k < 3; k++) {
      const twin = work.twins[3 * seed + k];
      const other = twin < 0 ? -1 : Math.floor(twin / 3);
      if (other < 0 || work.taken[other] === 1 || !bends(work, seed, other)) continue;
      const axis = axisOf(work, seed, other);
      if (failedBefore(work, seed, axis) || bendsGently(work, seed, axis)) continue;
      const wall = growWall(work, seed, axis);
      const bore = boreOf(work, wall, roundnessMm);
      if (bore === undefined) {
        for (const t of wall.triangles) work.tried.set(axis, 3 * t);
        continue;
      }
      for (const t of wall.triangles) work.taken[t] = 1;
      if (bore.cornersMm >= leastMm && bore.cornersMm <= mostMm) found.push(bore);
      break;
    }
  }
  return withEnds(mesh, work, found).sort(
    (a, b) => a.cornersMm - b.cornersMm || a.atMm[0] - b.atMm[0] || a.atMm[1] - b.atMm[1] || a.atMm[2] - b.atMm[2],
  );
}

/** mark holds the number of the last wall that looked at a triangle; tried the axis of a wall that failed there, 3 a triangle. */
type Work = {
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
type Wall = Readonly<{ triangles: readonly number[]; axis: Vec3; broken?: boolean }>;

function prepare(mesh: Mesh): Work {
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

function cosBetween({ normals: n }: Work, s: number, t: number): number {
  return n[3 * s] * n[3 * t] + n[3 * s + 1] * n[3 * t + 1] + n[3 * s + 2] * n[3 * t + 2];
}

function bends(work: Work, s: number, t: number): boolean {
  const cos = cosBetween(work, s, t);
  return cos < TURN_LEAST && cos > TURN_MOST;
}

function axisOf({ normals: n }: Work, s: number, t: number): Vec3 {
  const x = n[3 * s + 1] * n[3 * t + 2] - n[3 * s + 2] * n[3 * t + 1];
  const y = n[3 * s + 2] * n[3 * t] - n[3 * s] * n[3 * t + 2];
  const z = n[3 * s] * n[3 * t + 1] - n[3 * s + 1] * n[3 * t];
  const length = Math.hypot(x, y, z);
  return [x / length, y / length, z / length];
}

/** Every triangle of a long wall that is no bore would grow the whole wall again. */
function failedBefore({ tried }: Work, t: number, axis: Vec3): boolean {
  return Math.abs(tried[3 * t] * axis[0] + tried[3 * t + 1] * axis[1] + tried[3 * t + 2] * axis[2]) > 0.9998;
}

/**
 * On a ball or a saddle the surface also bends gently the other way; a bore's facets go straight along its axis. Steps over 3° may be
 * a chamfer or fillet at the rim and say nothing. Saves growing a wall from every triangle of a smooth shape.
 */
function bendsGently(work: Work, seed: number, axis: Vec3): boolean {
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
function growWall(work: Work, seed: number, start: Vec3): Wall {
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

function boreOf(work: Work, { triangles, axis, broken }: Wall, roundnessMm: number): Bore | undefined {
  if (broken === true || triangles.length < 6) return undefined;
  const { mesh, normals } = work;
  const { positions: p, triangles: corners, originMm: o } = mesh;
  const [u, v] = sideways(axis);
  const dot = (at: number, d: Vec3): number => p[at] * d[0] + p[at + 1] * d[1] + p[at + 2] * d[2];
  const creases = creaseCorners(work, triangles);
  const xy = creases.flatMap((at) => [dot(at, u), dot(at, v)]);
  const circle = fitCircle(xy);
  if (circle === undefined) return undefined;
  const tolerance = roundnessMm + 0.005 * circle.radius;
  const angles: number[] = [];
  for (let i = 0; i < xy.length; i += 2) {
    if (Math.abs(Math.hypot(xy[i] - circle.x, xy[i + 1] - circle.y) - circle.radius) > tolerance) return undefined;
    angles.push(Math.atan2(xy[i + 1] - circle.y, xy[i] - circle.x));
  }
  if (largestGap(angles) > (61 * Math.PI) / 180) return undefined;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let flat = Number.POSITIVE_INFINITY;
  let outward = 0;
  const turns: number[] = [];
  for (const t of triangles) {
    for (let k = 0; k < 3; k++) {
      const z = dot(3 * corners[3 * t + k], axis);
      low = Math.min(low, z);
      high = Math.max(high, z);
    }
    const at = 3 * corners[3 * t];
    const nu = normals[3 * t] * u[0] + normals[3 * t + 1] * u[1] + normals[3 * t + 2] * u[2];
    const nv = normals[3 * t] * v[0] + normals[3 * t + 1] * v[1] + normals[3 * t + 2] * v[2];
    const away = nu * (dot(at, u) - circle.x) + nv * (dot(at, v) - circle.y);
    outward += Math.sign(away);
    flat = Math.min(flat, Math.abs(away));
    turns.push(Math.atan2(nv, nu));
  }
  // Facing both ways: the walls of a ring gear or a wave, not of one bore.
  if (Math.abs(outward) !== triangles.length) return undefined;
  const depthMm = high - low;
  if (depthMm < 0.2 * circle.radius && mostlySmoothRim(work, triangles)) return undefined; // a band around a ball
  if (depthMm < 4 * circle.radius && bothEndsBend(work, triangles, axis, (low + high) / 2)) return undefined; // a link of a bent pipe
  const facets = distinctAngles(turns);
  const middle = (low + high) / 2;
  return {
    kind: outward > 0 ? 'boss' : 'bore',
    outline: facets.length >= ROUND_FACETS ? 'round' : facets.length === 6 && evenly(facets) ? 'hexagon' : 'polygon',
    cornersMm: 2 * circle.radius,
    flatsMm: 2 * flat,
    facets: facets.length,
    depthMm,
    atMm: [0, 1, 2].map((i) => circle.x * u[i] + circle.y * v[i] + middle * axis[i] + o[i]) as [number, number, number],
    axis,
    triangles: triangles.length,
  };
}

/** Corners at which facets meet: they lie on the circle; corners inside a flat, left by neighbours' cuts, do not. */
function creaseCorners(work: Work, triangles: readonly number[]): number[] {
  const { twins, mark, mesh } = work;
  const wall = mark[triangles[0]];
  const seen = new Set<number>();
  for (const t of triangles) {
    for (let k = 0; k < 3; k++) {
      const twin = twins[3 * t + k];
      const other = twin < 0 ? -1 : Math.floor(twin / 3);
      if (other < 0 || mark[other] !== wall || cosBetween(work, t, other) > TURN_LEAST) continue;
      seen.add(3 * mesh.triangles[3 * t + k]);
      seen.add(3 * mesh.triangles[3 * t + ((k + 1) % 3)]);
    }
  }
  return [...seen].sort((a, b) => a - b);
}

function mostlySmoothRim(work: Work, triangles: readonly number[]): boolean {
  const { twins, mark } = work;
  const wall = mark[triangles[0]];
  let smooth = 0;
  let rim = 0;
  for (const t of triangles) {
    for (let k = 0; k < 3; k++) {
      const twin = twins[3 * t + k];
      const other = twin < 0 ? -1 : Math.floor(twin / 3);
      if (other >= 0 && mark[other] === wall) continue;
      rim++;
      if (other >= 0 && cosBetween(work, t, other) > SMOOTH) smooth++;
    }
  }
  return smooth > rim / 2;
}

const BEND_MOST = Math.cos((30 * Math.PI) / 180); // from one link of a bent pipe to the next

/**
 * Where a pipe bends, the next link's wall leans outward on one side and inward on the other; a rounded or chamfered rim leans one way
 * all round. Both ends so: the wall is a link of a bend, not a bore.
 */
function bothEndsBend(work: Work, triangles: readonly number[], axis: Vec3, middle: number): boolean {
  const { twins, mark, mesh, normals } = work;
  const wall = mark[triangles[0]];
  const lean = [
    { out: 0, inward: 0, rim: 0 },
    { out: 0, inward: 0, rim: 0 },
  ];
  for (const t of triangles) {
    for (let k = 0; k < 3; k++) {
      const twin = twins[3 * t + k];
      const other = twin < 0 ? -1 : Math.floor(twin / 3);
      if (other >= 0 && mark[other] === wall) continue;
      const at = 3 * mesh.triangles[3 * t + k];
      const z = mesh.positions[at] * axis[0] + mesh.positions[at + 1] * axis[1] + mesh.positions[at + 2] * axis[2];
      const end = lean[z > middle ? 1 : 0];
      end.rim++;
      if (other < 0 || cosBetween(work, t, other) < BEND_MOST) continue;
      const along = normals[3 * other] * axis[0] + normals[3 * other + 1] * axis[1] + normals[3 * other + 2] * axis[2];
      const outward = z > middle ? along : -along;
      if (outward > 1e-3) end.out++;
      else if (outward < -1e-3) end.inward++;
    }
  }
  return lean.every(({ out, inward, rim }) => Math.min(out, inward) > 0.2 * rim);
}

function largestGap(angles: readonly number[]): number {
  const sorted = [...angles].sort((a, b) => a - b);
  let gap = sorted[0] + 2 * Math.PI - sorted[sorted.length - 1];
  for (let i = 1; i < sorted.length; i++) gap = Math.max(gap, sorted[i] - sorted[i - 1]);
  return gap;
}

/** One angle for each flat; those within a fifth of a degree are one. */
function distinctAngles(angles: readonly number[]): number[] {
  const same = (0.2 * Math.PI) / 180;
  const sorted = [...angles].sort((a, b) => a - b);
  const out: number[] = [];
  for (const angle of sorted) if (out.length === 0 || angle - out[out.length - 1] > same) out.push(angle);
  if (out.length > 1 && out[0] + 2 * Math.PI - out[out.length - 1] <= same) out.pop();
  return out;
}

function evenly(angles: readonly number[]): boolean {
  return angles.every((a, i) => {
    const next = i + 1 < angles.length ? angles[i + 1] : angles[0] + 2 * Math.PI;
    return Math.abs(next - a - (2 * Math.PI) / angles.length) < (1 * Math.PI) / 180;
  });
}

function sideways(axis: Vec3): [Vec3, Vec3] {
  const least =
    Math.abs(axis[0]) <= Math.abs(axis[1]) && Math.abs(axis[0]) <= Math.abs(axis[2])
      ? 0
      : Math.abs(axis[1]) <= Math.abs(axis[2])
        ? 1
        : 2;
  const e = [0, 0, 0];
  e[least] = 1;
  const d = axis[least];
  const w = [e[0] - d * axis[0], e[1] - d * axis[1], e[2] - d * axis[2]];
  const length = Math.hypot(w[0], w[1], w[2]);
  const u: Vec3 = [w[0] / length, w[1] / length, w[2] / length];
  return [u, [axis[1] * u[2] - axis[2] * u[1], axis[2] * u[0] - axis[0] * u[2], axis[0] * u[1] - axis[1] * u[0]]];
}

/** A bore is open where the axis, a little beyond the wall's end, is not in material. */
function withEnds(mesh: Mesh, work: Work, bores: readonly Bore[]): Bore[] {
  if (!work.closed || !bores.some((bore) => bore.kind === 'bore')) return [...bores];
  const tree = buildTree(mesh);
  return bores.map((bore) => {
    if (bore.kind === 'boss') return bore;
    const reach = bore.depthMm / 2 + Math.max(0.02, 0.02 * bore.flatsMm);
    const open = [-1, 1].map(
      (side) =>
        !isInside(
          tree,
          [0, 1, 2].map((i) => bore.atMm[i] - mesh.originMm[i] + side * reach * bore.axis[i]) as [
            number,
            number,
            number,
          ],
        ),
    );
    return { ...bore, through: open[0] && open[1] };
  });
}
