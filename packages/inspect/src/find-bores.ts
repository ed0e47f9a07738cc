import type { Mesh, Vec3 } from '@stonehand/model';
import { fitCircle } from './fit-circle.ts';
import { joinArcs } from './join-arcs.ts';
import {
  axisOf,
  bends,
  bendsGently,
  cosBetween,
  failedBefore,
  growWall,
  prepare,
  SMOOTH,
  TURN_LEAST,
  type Wall,
  type Work,
} from './round-walls.ts';
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

const ROUND_FACETS = 9;

/**
 * Full round (or regular polygonal) walls: neighbouring facets whose normals are square to one axis and whose corners lie on one circle all
 * the way round, grooves in them allowed. Rims that are only part of a circle, cones, tapped threads and slots are not bores. Order: by diameter, then place.
 */
export function findBores(mesh: Mesh, { leastMm = 0.5, mostMm = 1000, roundnessMm = 0.02 }: BoreOptions = {}): Bore[] {
  const work = prepare(mesh);
  const found: Bore[] = [];
  const arcs: Wall[] = [];
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
        arcs.push(wall);
        for (const t of wall.triangles) work.tried.set(axis, 3 * t);
        continue;
      }
      for (const t of wall.triangles) work.taken[t] = 1;
      if (bore.cornersMm >= leastMm && bore.cornersMm <= mostMm) found.push(bore);
      break;
    }
  }
  for (const wall of joinArcs(work, arcs, roundnessMm)) {
    const bore = boreOf(work, wall, roundnessMm);
    if (bore !== undefined && bore.cornersMm >= leastMm && bore.cornersMm <= mostMm) found.push(bore);
  }
  return withEnds(mesh, work, found).sort(
    (a, b) => a.cornersMm - b.cornersMm || a.atMm[0] - b.atMm[0] || a.atMm[1] - b.atMm[1] || a.atMm[2] - b.atMm[2],
  );
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
    flatsMm: 2 * (evenFlat(angles, circle.radius) ?? flat),
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

/**
 * Half the width across flats where the corners are evenly spaced, from their spacing: a facet of a tenth of a millimetre has no
 * normal to speak of once its corners are off by a few micrometres. Undefined where the facets differ.
 */
function evenFlat(cornerAngles: readonly number[], radius: number): number | undefined {
  const sorted = [...cornerAngles].sort((a, b) => a - b);
  const gaps = sorted
    .map((a, i) => (i === 0 ? a + 2 * Math.PI - sorted[sorted.length - 1] : a - sorted[i - 1]))
    .filter((gap) => gap > SAME_CORNER)
    .sort((a, b) => a - b);
  const usual = gaps[gaps.length >> 1];
  if (usual === undefined) return undefined;
  const alike = gaps.filter((gap) => Math.abs(gap / usual - 1) < 0.2).length;
  return gaps.length >= ROUND_FACETS && alike >= 0.9 * gaps.length ? radius * Math.cos(usual / 2) : undefined;
}

const SAME_CORNER = (0.6 * Math.PI) / 180;

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
