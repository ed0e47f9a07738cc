import type { Vec3 } from '@stonehand/model';
import { fitCircle } from './fit-circle.ts';
import type { Wall, Work } from './round-walls.ts';

type Arc = Readonly<{
  wall: Wall;
  axis: Vec3;
  centre: Vec3;
  radiusMm: number;
  hollow: boolean;
  fromMm: number;
  toMm: number;
}>;

/** Fewer corners fix no circle. */
const LEAST_CORNERS = 6;
const PARALLEL = Math.cos((0.6 * Math.PI) / 180);

/**
 * A round wall with grooves along it (keyways, a seat with a puller's slots) falls into arcs, none of which goes all the way round. Arcs of one cylinder are put
 * together again; whether they are a bore is for the caller to judge.
 */
export function joinArcs(work: Work, walls: readonly Wall[], roundnessMm: number): Wall[] {
  const arcs = walls.flatMap((wall) => arcOf(work, wall, roundnessMm) ?? []);
  const taken = new Set<Arc>();
  const joined: Wall[] = [];
  for (const arc of arcs) {
    if (taken.has(arc)) continue;
    const mates = arcs.filter((other) => !taken.has(other) && sameCylinder(arc, other, roundnessMm));
    if (mates.length < 2) continue;
    for (const mate of mates) taken.add(mate);
    const triangles = [...new Set(mates.flatMap(({ wall }) => wall.triangles))];
    const mark = ++work.walls;
    for (const t of triangles) work.mark[t] = mark;
    joined.push({ triangles, axis: arc.axis });
  }
  return joined;
}

function arcOf({ mesh, normals }: Work, wall: Wall, roundnessMm: number): Arc | undefined {
  const { triangles, axis, broken } = wall;
  if (broken === true || triangles.length < 4) return undefined;
  const { positions: p, triangles: corners } = mesh;
  const [u, v] = sideways(axis);
  const dot = (at: number, d: Vec3): number => p[at] * d[0] + p[at + 1] * d[1] + p[at + 2] * d[2];
  const seen = new Set<number>();
  for (const t of triangles) for (let k = 0; k < 3; k++) seen.add(3 * corners[3 * t + k]);
  if (seen.size < LEAST_CORNERS) return undefined;
  const xy: number[] = [];
  let fromMm = Number.POSITIVE_INFINITY;
  let toMm = Number.NEGATIVE_INFINITY;
  for (const at of seen) {
    xy.push(dot(at, u), dot(at, v));
    fromMm = Math.min(fromMm, dot(at, axis));
    toMm = Math.max(toMm, dot(at, axis));
  }
  const circle = fitCircle(xy);
  if (circle === undefined) return undefined;
  for (let i = 0; i < xy.length; i += 2) {
    const off = Math.hypot(xy[i] - circle.x, xy[i + 1] - circle.y) - circle.radius;
    if (Math.abs(off) > roundnessMm + 0.005 * circle.radius) return undefined;
  }
  const t = triangles[0];
  const at = 3 * corners[3 * t];
  const across = (d: Vec3): number => normals[3 * t] * d[0] + normals[3 * t + 1] * d[1] + normals[3 * t + 2] * d[2];
  const away = across(u) * (dot(at, u) - circle.x) + across(v) * (dot(at, v) - circle.y);
  const centre: Vec3 = [
    circle.x * u[0] + circle.y * v[0],
    circle.x * u[1] + circle.y * v[1],
    circle.x * u[2] + circle.y * v[2],
  ];
  return { wall, axis, centre, radiusMm: circle.radius, hollow: away < 0, fromMm, toMm };
}

function sameCylinder(a: Arc, b: Arc, roundnessMm: number): boolean {
  const tolerance = 2 * (roundnessMm + 0.005 * a.radiusMm);
  return (
    a.hollow === b.hollow &&
    Math.abs(a.radiusMm - b.radiusMm) <= tolerance &&
    Math.abs(a.axis[0] * b.axis[0] + a.axis[1] * b.axis[1] + a.axis[2] * b.axis[2]) >= PARALLEL &&
    Math.hypot(a.centre[0] - b.centre[0], a.centre[1] - b.centre[1], a.centre[2] - b.centre[2]) <= tolerance &&
    a.fromMm < b.toMm &&
    b.fromMm < a.toMm
  );
}

function sideways(axis: Vec3): [Vec3, Vec3] {
  const least = axis.map(Math.abs).indexOf(Math.min(...axis.map(Math.abs)));
  const d = axis[least];
  const w = axis.map((x, i) => (i === least ? 1 : 0) - d * x);
  const length = Math.hypot(w[0], w[1], w[2]);
  const u: Vec3 = [w[0] / length, w[1] / length, w[2] / length];
  return [u, [axis[1] * u[2] - axis[2] * u[1], axis[2] * u[0] - axis[0] * u[2], axis[0] * u[1] - axis[1] * u[0]]];
}
