import type { Mesh, Vec3 } from '@stonehand/model';
import { type Bodies, bodiesOf, NO_BODY } from './bodies.ts';
import { type RayWalk, rayWalk } from './cast-rays.ts';
import { halfEdgeTwins } from './half-edges.ts';
import { type RayTree, rayTree } from './ray-tree.ts';

/** How thick the walls are, sampled evenly over the surface along inner normals. In the mesh's numbers. */
export type WallThickness = Readonly<{
  /** samples taken and samples with a wall thinner than asked behind them */
  rays: number;
  thinRays: number;
  /** surface that has such a thin wall behind it, both sides counted: area · thinRays / rays */
  thinArea: number;
  /** the thinnest wall found, and its middle with the mesh's offset; absent when none is thin */
  thinnest?: Readonly<{ thickness: number; at: Vec3; triangle: number }>;
}>;

export type WallThicknessOptions = Readonly<{
  /** walls below this are looked for; Infinity measures every wall */
  thinnerThan: number;
  rays?: number;
  /** a tree of the same mesh that is at hand already */
  tree?: RayTree;
}>;

// The far face counts as the other side of a wall when it is parallel within this: the edge of a wedge is no wall.
const PARALLEL = Math.cos(Math.PI / 6);
const MOST_PASSES = 64; // faces of other bodies that one ray may pass through

/**
 * Casts rays inwards from points spread evenly by area, in the order of the triangles, and looks for where they leave the
 * material again. Faces met from their outside and bodies that merely overlap are passed through; the walls of a
 * hollow (bodies facing inwards) count as the other side.
 */
export function wallThickness(
  mesh: Mesh,
  { thinnerThan, rays = 20_000, tree = rayTree(mesh) }: WallThicknessOptions,
): WallThickness {
  const bodies = bodiesOf(mesh, halfEdgeTwins(mesh));
  const sides = bodySides(bodies);
  const walk = rayWalk(tree);
  // A mesh that is inside out as a whole has its material on the other side.
  const inwards = bodies.volume.reduce((sum, v) => sum + v, 0) < 0 ? -1 : 1;
  const { normals, areas, total } = facets(mesh, inwards);
  if (!(total > 0)) return { rays: 0, thinRays: 0, thinArea: 0 };
  const step = total / rays;
  let thinRays = 0;
  let best = thinnerThan;
  let thinnest: WallThickness['thinnest'];
  let passed = 0;
  let sample = 0;
  const point = new Float64Array(3);
  for (let t = 0; t < areas.length; t++) {
    passed += areas[t];
    for (; sample < rays && (sample + 0.5) * step <= passed; sample++) {
      pointIn(mesh, t, sample, tree.middle, point);
      const thickness = thicknessAt(walk, mesh.triangles, normals, sides, t, point, thinnerThan);
      if (!(thickness < thinnerThan)) continue;
      thinRays++;
      if (thinnest !== undefined && thickness >= best) continue;
      best = thickness;
      const along = (k: number): number => point[k] + tree.middle[k] - (normals[3 * t + k] * thickness) / 2;
      thinnest = { thickness, at: [along(0), along(1), along(2)], triangle: t };
    }
  }
  return { rays, thinRays, thinArea: thinRays * step, ...(thinnest !== undefined && { thinnest }) };
}

/** Distance to where the ray leaves the material through a face about parallel to the one it starts from; else Infinity. */
function thicknessAt(
  walk: RayWalk,
  triangles: Uint32Array,
  normals: Float64Array,
  sides: Sides,
  start: number,
  point: Float64Array,
  within: number,
): number {
  const dx = -normals[3 * start];
  const dy = -normals[3 * start + 1];
  const dz = -normals[3 * start + 2];
  let done = 0;
  let unseen = start;
  for (let pass = 0; pass < MOST_PASSES; pass++) {
    const hit = walk(
      point[0] + done * dx,
      point[1] + done * dy,
      point[2] + done * dz,
      dx,
      dy,
      dz,
      within - done,
      unseen,
    );
    if (!hit) return Infinity;
    const { distance, triangle } = walk.hit;
    const cosine = dx * normals[3 * triangle] + dy * normals[3 * triangle + 1] + dz * normals[3 * triangle + 2];
    const wall = cosine > 0 && !sharesCorner(triangles, start, triangle) && otherSide(sides, start, triangle);
    if (wall) return cosine >= PARALLEL ? done + distance : Infinity;
    done += distance;
    unseen = triangle;
  }
  return Infinity;
}

/** Faces that meet in a corner make an edge, not a wall. */
function sharesCorner(triangles: Uint32Array, s: number, t: number): boolean {
  const a = triangles[3 * t];
  const b = triangles[3 * t + 1];
  const c = triangles[3 * t + 2];
  for (let h = 3 * s; h < 3 * s + 3; h++) {
    if (triangles[h] === a || triangles[h] === b || triangles[h] === c) return true;
  }
  return false;
}

type Sides = Readonly<{ bodyOf: Uint32Array; inwards: Uint8Array }> | undefined;

/** Which body each triangle is of, and which bodies face inwards; undefined when there is one body only. */
function bodySides({ bodyOf, count, volume }: Bodies): Sides {
  return count < 2 ? undefined : { bodyOf, inwards: Uint8Array.from(volume, (v) => (v < 0 ? 1 : 0)) };
}

function otherSide(sides: Sides, start: number, triangle: number): boolean {
  if (sides === undefined) return true;
  const a = sides.bodyOf[start];
  const b = sides.bodyOf[triangle];
  if (a === NO_BODY || b === NO_BODY) return false;
  return a === b || sides.inwards[a] !== sides.inwards[b];
}

function facets(
  { positions: p, triangles }: Mesh,
  sign: number,
): { normals: Float64Array; areas: Float64Array; total: number } {
  const normals = new Float64Array(triangles.length);
  const areas = new Float64Array(triangles.length / 3);
  let total = 0;
  for (let t = 0, h = 0; t < areas.length; t++, h += 3) {
    const a = 3 * triangles[h];
    const b = 3 * triangles[h + 1];
    const c = 3 * triangles[h + 2];
    const ux = p[b] - p[a];
    const uy = p[b + 1] - p[a + 1];
    const uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a];
    const vy = p[c + 1] - p[a + 1];
    const vz = p[c + 2] - p[a + 2];
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (!(length > 0)) continue;
    normals[h] = (sign * nx) / length;
    normals[h + 1] = (sign * ny) / length;
    normals[h + 2] = (sign * nz) / length;
    areas[t] = length / 2;
    total += length / 2;
  }
  return { normals, areas, total };
}

// Steps of the plane's evenest sequence: powers of the plastic number's reciprocal (Roberts 2018, "The unreasonable
// effectiveness of quasirandom sequences", from memory). No two samples of a large face fall together.
const STEP_U = 0.7548776662466927;
const STEP_V = 0.5698402909980532;

/** The k-th sample, put into triangle t; about the middle of the tree. */
function pointIn(
  { positions: p, triangles, originMm }: Mesh,
  t: number,
  k: number,
  middle: Vec3,
  out: Float64Array,
): void {
  let u = (k * STEP_U) % 1;
  let v = (k * STEP_V) % 1;
  if (u + v > 1) {
    u = 1 - u;
    v = 1 - v;
  }
  const a = 3 * triangles[3 * t];
  const b = 3 * triangles[3 * t + 1];
  const c = 3 * triangles[3 * t + 2];
  for (let i = 0; i < 3; i++) {
    out[i] = p[a + i] + u * (p[b + i] - p[a + i]) + v * (p[c + i] - p[a + i]) + originMm[i] - middle[i];
  }
}
