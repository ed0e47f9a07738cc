import { type Affine, affineOf, composeAffine, seededRandom } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import type { SurfaceMoments } from './surface-moments.ts';
import { symmetricEigen } from './symmetric-eigen.ts';
import { type Nearest, nearestPoint, type TriangleTree } from './triangle-tree.ts';

const SWEEP_DEG = 5;
const RANDOM_TURNS = 400; // about 30° apart over all rotations: near enough for the refinement to catch hold

/** Turns that may carry a onto b, both centred at their surfaces' centres: by their main axes, swept where axes are not distinct. */
export function axisTurns(a: SurfaceMoments, b: SurfaceMoments): Affine[] {
  const turns: Affine[] = [];
  const frames = properFrames(a.axes);
  const target = properFrames(b.axes)[0];
  for (const frame of frames) turns.push(turnBetween(frame, target));
  const [low, mid, high] = b.spread;
  const alike = (x: number, y: number): boolean => Math.abs(x - y) <= 2e-3 * high;
  if (alike(low, mid) && alike(mid, high)) turns.push(...scatteredTurns());
  else if (alike(low, mid) || alike(mid, high)) {
    const axis = alike(low, mid) ? b.axes[2] : b.axes[0];
    const flips = [
      turns[0],
      frames.map((f) => turnBetween(f, target)).find((t) => flipsAxis(t, turns[0], axis)) ?? turns[0],
    ];
    for (const flip of flips) {
      for (let deg = SWEEP_DEG; deg < 360; deg += SWEEP_DEG)
        turns.push(composeAffine(turnAbout(axis, (deg * Math.PI) / 180), flip));
    }
  }
  return turns;
}

/** Whether two turns send one direction to opposite ends of the axis. */
function flipsAxis(t: Affine, base: Affine, axis: readonly number[]): boolean {
  const rel = composeAffine(t, transposed(base));
  const image = [0, 1, 2].map((i) => rel[4 * i] * axis[0] + rel[4 * i + 1] * axis[1] + rel[4 * i + 2] * axis[2]);
  return image[0] * axis[0] + image[1] * axis[1] + image[2] * axis[2] < -0.5;
}

function transposed(m: Affine): Affine {
  return affineOf([m[0], m[4], m[8], m[1], m[5], m[9], m[2], m[6], m[10]], [0, 0, 0]);
}

/** The four right-handed frames that differ from the given axes by signs. */
function properFrames(axes: SurfaceMoments['axes']): number[][][] {
  const [x, y] = axes;
  const out: number[][][] = [];
  for (const sx of [1, -1]) {
    for (const sy of [1, -1]) {
      const u = x.map((v) => sx * v);
      const v = y.map((w) => sy * w);
      out.push([u, v, cross(u, v)]);
    }
  }
  return out;
}

function turnBetween(from: readonly (readonly number[])[], to: readonly (readonly number[])[]): Affine {
  const r = new Array<number>(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) r[3 * i + j] = to[0][i] * from[0][j] + to[1][i] * from[1][j] + to[2][i] * from[2][j];
  return affineOf(r, [0, 0, 0]);
}

/** The turn that carries the frame of directions p, q onto that of u, v (both pairs at the same angle). */
export function turnOfPairs(
  p: readonly number[],
  q: readonly number[],
  u: readonly number[],
  v: readonly number[],
): Affine {
  return turnBetween(frameOf(p, q), frameOf(u, v));
}

function frameOf(p: readonly number[], q: readonly number[]): number[][] {
  const x = unit(p);
  const z = unit(cross(p, q));
  return [x, cross(z, x), z];
}

function unit(v: readonly number[]): number[] {
  const length = Math.hypot(v[0], v[1], v[2]);
  return v.map((w) => w / length);
}

function cross(a: readonly number[], b: readonly number[]): number[] {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function turnAbout([x, y, z]: readonly number[], angleRad: number): Affine {
  return turnOfQuaternion(
    Math.cos(angleRad / 2),
    x * Math.sin(angleRad / 2),
    y * Math.sin(angleRad / 2),
    z * Math.sin(angleRad / 2),
  );
}

function scatteredTurns(): Affine[] {
  const random = seededRandom(20261125);
  return Array.from({ length: RANDOM_TURNS }, () => {
    const q = [random.normal(), random.normal(), random.normal(), random.normal()];
    const n = Math.hypot(...q);
    return turnOfQuaternion(q[0] / n, q[1] / n, q[2] / n, q[3] / n);
  });
}

function turnOfQuaternion(w: number, x: number, y: number, z: number): Affine {
  return affineOf(
    [
      1 - 2 * (y * y + z * z),
      2 * (x * y - w * z),
      2 * (x * z + w * y),
      2 * (x * y + w * z),
      1 - 2 * (x * x + z * z),
      2 * (y * z - w * x),
      2 * (x * z - w * y),
      2 * (y * z + w * x),
      1 - 2 * (x * x + y * y),
    ],
    [0, 0, 0],
  );
}

/** Mean distance of moved points to the surface; gives up beyond the limit of their sum. */
export function meanAway(points: Float64Array, move: Affine, tree: TriangleTree): number {
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  let sum = 0;
  for (let i = 0; i < points.length; i += 3) {
    sum += Math.sqrt(
      nearestPoint(tree, movedX(points, i, move), movedY(points, i, move), movedZ(points, i, move), hit).distance2,
    );
  }
  return sum / (points.length / 3);
}

/** Whether every moved point lies within the tolerance of the surface; stops at the first that does not. */
export function allWithin(points: Float64Array, move: Affine, tree: TriangleTree, toleranceMm: number): boolean {
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  const limit2 = toleranceMm * toleranceMm * (1 + 1e-9) + Number.MIN_VALUE;
  for (let i = 0; i < points.length; i += 3) {
    if (
      nearestPoint(tree, movedX(points, i, move), movedY(points, i, move), movedZ(points, i, move), hit, limit2)
        .triangle < 0
    )
      return false;
  }
  return true;
}

/**
 * Moves points onto the surface step by step: each to its nearest place, then the rigid motion that fits all best (iterative closest
 * points, Besl & McKay 1992; the motion by unit quaternions, Horn 1987).
 */
export function refine(points: Float64Array, start: Affine, tree: TriangleTree, steps: number): Affine {
  let move = start;
  let before = Number.POSITIVE_INFINITY;
  const target = new Float64Array(points.length);
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  for (let step = 0; step < steps; step++) {
    let sum = 0;
    for (let i = 0; i < points.length; i += 3) {
      nearestPoint(tree, movedX(points, i, move), movedY(points, i, move), movedZ(points, i, move), hit);
      target[i] = hit.x;
      target[i + 1] = hit.y;
      target[i + 2] = hit.z;
      sum += hit.distance2;
    }
    if (!(sum < before * (1 - 1e-6))) break;
    before = sum;
    move = bestMotion(points, target);
  }
  return move;
}

/** The rigid motion with the least squares of distances from moved points to targets (Horn 1987, J. Opt. Soc. Am. A 4, 629). */
export function bestMotion(from: Float64Array, to: Float64Array): Affine {
  const n = from.length / 3;
  const a = [0, 0, 0];
  const b = [0, 0, 0];
  for (let i = 0; i < from.length; i++) {
    a[i % 3] += from[i] / n;
    b[i % 3] += to[i] / n;
  }
  const s = new Float64Array(9);
  for (let i = 0; i < from.length; i += 3) {
    for (let j = 0; j < 3; j++) for (let k = 0; k < 3; k++) s[3 * j + k] += (from[i + j] - a[j]) * (to[i + k] - b[k]);
  }
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = s;
  const matrix = [
    xx + yy + zz,
    yz - zy,
    zx - xz,
    xy - yx,
    yz - zy,
    xx - yy - zz,
    xy + yx,
    zx + xz,
    zx - xz,
    xy + yx,
    yy - xx - zz,
    yz + zy,
    xy - yx,
    zx + xz,
    yz + zy,
    zz - xx - yy,
  ];
  const [w, x, y, z] = symmetricEigen(matrix, 4).vectors[3];
  const turn = turnOfQuaternion(w, x, y, z);
  const out = [...turn];
  for (let i = 0; i < 3; i++)
    out[4 * i + 3] = b[i] - (turn[4 * i] * a[0] + turn[4 * i + 1] * a[1] + turn[4 * i + 2] * a[2]);
  return out;
}

function movedX(p: Float64Array, i: number, m: Affine): number {
  return m[0] * p[i] + m[1] * p[i + 1] + m[2] * p[i + 2] + m[3];
}
function movedY(p: Float64Array, i: number, m: Affine): number {
  return m[4] * p[i] + m[5] * p[i + 1] + m[6] * p[i + 2] + m[7];
}
function movedZ(p: Float64Array, i: number, m: Affine): number {
  return m[8] * p[i] + m[9] * p[i + 1] + m[10] * p[i + 2] + m[11];
}

/**
 * Turns that carry the corner of a that lies farthest from the centre, and the one farthest from that line, onto corners of b at the
 * same distances from the centre and from one another: exact for meshes with the same corners, however symmetric.
 */
export function cornerTurns(a: Mesh, b: Mesh, toleranceMm: number, most: number): Affine[] {
  const p = a.positions;
  const first = farthest(a, (i) => Math.hypot(p[i], p[i + 1], p[i + 2]));
  if (first < 0) return [];
  const p0 = [p[first], p[first + 1], p[first + 2]];
  const r0 = Math.hypot(...p0);
  const second = farthest(a, (i) => Math.hypot(...cross(p0, [p[i], p[i + 1], p[i + 2]])));
  const p1 = [p[second], p[second + 1], p[second + 2]];
  const r1 = Math.hypot(...p1);
  if (!(Math.hypot(...cross(p0, p1)) > 0.02 * r0 * Math.max(r1, 0.02 * r0))) return [];
  const gap = Math.hypot(p0[0] - p1[0], p0[1] - p1[1], p0[2] - p1[2]);
  const q = b.positions;
  const used = usedCorners(b);
  const turns: Affine[] = [];
  let work = WORK;
  for (const i of used) {
    if (Math.abs(Math.hypot(q[i], q[i + 1], q[i + 2]) - r0) > toleranceMm) continue;
    work -= used.length;
    for (const j of used) {
      if (Math.abs(Math.hypot(q[j], q[j + 1], q[j + 2]) - r1) > toleranceMm) continue;
      if (Math.abs(Math.hypot(q[i] - q[j], q[i + 1] - q[j + 1], q[i + 2] - q[j + 2]) - gap) > 2 * toleranceMm) continue;
      turns.push(turnOfPairs(p0, p1, [q[i], q[i + 1], q[i + 2]], [q[j], q[j + 1], q[j + 2]]));
      if (turns.length >= most) return turns;
    }
    if (work < 0) break;
  }
  return turns;
}

const WORK = 3e7; // pairs of corners looked at: a ball's corners are all alike and must not take minutes

function usedCorners({ positions, triangles }: Mesh): number[] {
  const seen = new Uint8Array(positions.length / 3);
  const out: number[] = [];
  for (const v of triangles) {
    if (seen[v] === 0) out.push(3 * v);
    seen[v] = 1;
  }
  return out.sort((x, y) => x - y);
}

function farthest(mesh: Mesh, measure: (at: number) => number): number {
  let best = -1;
  let most = -1;
  for (const i of usedCorners(mesh)) {
    const m = measure(i);
    if (m > most) {
      most = m;
      best = i;
    }
  }
  return best;
}
