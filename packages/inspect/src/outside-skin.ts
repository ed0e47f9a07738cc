import { castRays, rayTree } from '@stonehand/mesh';
import type { Mesh, Tensor, Vec3 } from '@stonehand/model';
import { surfaceArea, triangleArea } from './surface-moments.ts';

/** What paint would reach of a surface, as an even skin. */
export type OutsideSkin = Readonly<{
  outsideMm2: number;
  wholeMm2: number;
  /** in the coordinates of the mesh, originMm included */
  centreMm: Vec3;
  /** about its centre, of a skin that weighs 1 g in all */
  inertiaMm2: Tensor;
}>;

export type SkinOptions = Readonly<{
  /** points spread evenly over the surface */
  samples?: number;
  /** of the directions out of a point, the share that must lead to the open for it to count as outside */
  openShare?: number;
}>;

const SAMPLES = 4000;
const RAYS = 24;
/** Own choice, no source: the inside of a shell sees the open through its rim only, a groove in its face nearly everywhere. */
const OPEN_SHARE = 0.25;

/**
 * The part of a surface that can be seen from outside: points spread evenly by area, and from each the share of a hemisphere of
 * rays that meets nothing. 4000 points give a share to about 1 %; the same mesh always gives the same skin.
 */
export function outsideSkin(mesh: Mesh, { samples = SAMPLES, openShare = OPEN_SHARE }: SkinOptions = {}): OutsideSkin {
  const wholeMm2 = surfaceArea(mesh);
  const points = spreadPoints(mesh, wholeMm2, samples);
  const open = openShares(mesh, points);
  const kept: number[] = [];
  open.forEach((share, i) => {
    if (share >= openShare) kept.push(i);
  });
  // A surface that nothing reaches has no skin; its centre is that of all of it, so that nothing is divided by 0.
  const used = kept.length > 0 ? kept : open.map((_, i) => i);
  const { centre, inertiaMm2 } = momentsOf(points.xyz, used);
  const [ox, oy, oz] = mesh.originMm;
  return {
    outsideMm2: points.count === 0 ? 0 : (wholeMm2 * kept.length) / points.count,
    wholeMm2,
    centreMm: [centre[0] + ox, centre[1] + oy, centre[2] + oz],
    inertiaMm2,
  };
}

type Points = Readonly<{ count: number; xyz: Float64Array; normal: Float64Array; triangle: Uint32Array }>;

/** Every samples-th share of the area holds one point; inside its triangle it lies where two golden sequences put it. */
function spreadPoints({ positions: p, triangles: t }: Mesh, wholeMm2: number, samples: number): Points {
  const count = wholeMm2 > 0 ? samples : 0;
  const xyz = new Float64Array(3 * count);
  const normal = new Float64Array(3 * count);
  const triangle = new Uint32Array(count);
  const stepMm2 = wholeMm2 / Math.max(1, count);
  let passed = 0;
  let n = 0;
  for (let k = 0; k < t.length && n < count; k += 3) {
    const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
    passed += triangleArea(p, a, b, c);
    while (n < count && (n + 0.5) * stepMm2 <= passed) {
      // Square root folds the unit square onto a triangle evenly (Turk 1990, from memory).
      const r = Math.sqrt(((n + 1) * 0.7548776662466927) % 1);
      const s = ((n + 1) * 0.5698402909980532) % 1;
      const [wa, wb, wc] = [1 - r, r * (1 - s), r * s];
      for (let i = 0; i < 3; i++) xyz[3 * n + i] = wa * p[a + i] + wb * p[b + i] + wc * p[c + i];
      faceNormal(p, a, b, c, normal, 3 * n);
      triangle[n] = k / 3;
      n++;
    }
  }
  return { count: n, xyz, normal, triangle };
}

function faceNormal(p: Mesh['positions'], a: number, b: number, c: number, out: Float64Array, o: number): void {
  const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
  const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
  const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
  const length = Math.hypot(x, y, z) || 1;
  out[o] = x / length;
  out[o + 1] = y / length;
  out[o + 2] = z / length;
}

/** By point, the share of its rays that meet nothing. Directions: a golden spiral over the sphere, each turned to the face's side. */
function openShares(mesh: Mesh, { count, xyz, normal, triangle }: Points): number[] {
  const tree = rayTree(mesh);
  const sphere = goldenDirections(2 * RAYS);
  const rays = new Float64Array(6 * count * RAYS);
  const from = new Uint32Array(count * RAYS);
  for (let i = 0; i < count; i++) {
    for (let r = 0; r < RAYS; r++) {
      // Half of the sphere points away from the face: the opposite direction stands for it, so all rays start outwards.
      const [dx, dy, dz] = [sphere[3 * r], sphere[3 * r + 1], sphere[3 * r + 2]];
      const out = dx * normal[3 * i] + dy * normal[3 * i + 1] + dz * normal[3 * i + 2] >= 0 ? 1 : -1;
      const o = 6 * (i * RAYS + r);
      for (let k = 0; k < 3; k++) rays[o + k] = xyz[3 * i + k];
      rays[o + 3] = out * dx;
      rays[o + 4] = out * dy;
      rays[o + 5] = out * dz;
      from[i * RAYS + r] = triangle[i];
    }
  }
  const hits = castRays(tree, rays, { from }).triangle;
  return Array.from({ length: count }, (_, i) => {
    let free = 0;
    for (let r = 0; r < RAYS; r++) if (hits[i * RAYS + r] < 0) free++;
    return free / RAYS;
  });
}

/** The upper half of a golden spiral: with each direction standing for its opposite too, the whole sphere evenly. */
function goldenDirections(count: number): Float64Array {
  const directions = new Float64Array(3 * (count / 2));
  const turn = Math.PI * (3 - Math.sqrt(5));
  for (let r = 0; r < count / 2; r++) {
    const z = 1 - (2 * (r + 0.5)) / count;
    const round = Math.sqrt(1 - z * z);
    directions[3 * r] = round * Math.cos(turn * r);
    directions[3 * r + 1] = round * Math.sin(turn * r);
    directions[3 * r + 2] = z;
  }
  return directions;
}

function momentsOf(xyz: Float64Array, used: readonly number[]): { centre: Vec3; inertiaMm2: Tensor } {
  const c = [0, 0, 0];
  for (const i of used) for (let k = 0; k < 3; k++) c[k] += xyz[3 * i + k] / used.length;
  let [xx, yy, zz, xy, yz, zx] = [0, 0, 0, 0, 0, 0];
  for (const i of used) {
    const [x, y, z] = [xyz[3 * i] - c[0], xyz[3 * i + 1] - c[1], xyz[3 * i + 2] - c[2]];
    xx += (y * y + z * z) / used.length;
    yy += (x * x + z * z) / used.length;
    zz += (x * x + y * y) / used.length;
    xy -= (x * y) / used.length;
    yz -= (y * z) / used.length;
    zx -= (z * x) / used.length;
  }
  return { centre: [c[0], c[1], c[2]], inertiaMm2: [xx, yy, zz, xy, yz, zx] };
}
