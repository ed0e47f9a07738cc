import type { Mesh, Vec2, Vec3 } from '@stonehand/model';
import { type Plane, planeFrame, signedDistances } from './plane.ts';

/** Where two pieces touch in a plane, as flat triangles and boundary segments in the plane's frame. */
export type Face = Readonly<{ triangles: Float64Array; edges: Float64Array }>;

/** The part of a piece's surface that lies in the plane and faces along the normal (side 1) or against it (−1). */
export function faceIn(mesh: Mesh, plane: Plane, side: 1 | -1): Face {
  const distances = signedDistances(mesh, plane);
  const [u, v] = planeFrame(plane.normal);
  const { positions: p, triangles: t } = mesh;
  const x = (i: number): number => flat(u, p, i, mesh.originMm);
  const y = (i: number): number => flat(v, p, i, mesh.originMm);
  const corners: number[] = [];
  const boundary = new Map<string, readonly [number, number]>();
  for (let k = 0; k < t.length; k += 3) {
    if (distances[t[k]] !== 0 || distances[t[k + 1]] !== 0 || distances[t[k + 2]] !== 0) continue;
    const [a, b, c] = [t[k], t[k + 1], t[k + 2]];
    const turn = (x(b) - x(a)) * (y(c) - y(a)) - (y(b) - y(a)) * (x(c) - x(a));
    if (turn * side <= 0) continue;
    corners.push(x(a), y(a), x(b), y(b), x(c), y(c));
    for (const [from, to] of [
      [a, b],
      [b, c],
      [c, a],
    ] as const) {
      if (!boundary.delete(`${to},${from}`)) boundary.set(`${from},${to}`, [from, to]);
    }
  }
  const edges = [...boundary.values()].flatMap(([a, b]) => [x(a), y(a), x(b), y(b)]);
  return { triangles: Float64Array.from(corners), edges: Float64Array.from(edges) };
}

function flat(axis: Vec3, p: ArrayLike<number>, i: number, originMm: Vec3): number {
  return (
    axis[0] * (p[3 * i] + originMm[0]) + axis[1] * (p[3 * i + 1] + originMm[1]) + axis[2] * (p[3 * i + 2] + originMm[2])
  );
}

export function holds({ triangles: t }: Face, [x, y]: Vec2): boolean {
  for (let k = 0; k < t.length; k += 6) {
    const a = (t[k + 2] - t[k]) * (y - t[k + 1]) - (t[k + 3] - t[k + 1]) * (x - t[k]);
    const b = (t[k + 4] - t[k + 2]) * (y - t[k + 3]) - (t[k + 5] - t[k + 3]) * (x - t[k + 2]);
    const c = (t[k] - t[k + 4]) * (y - t[k + 5]) - (t[k + 1] - t[k + 5]) * (x - t[k + 4]);
    if ((a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0)) return true;
  }
  return false;
}

/** Distance to the nearest of segments x1 y1 x2 y2 …; Infinity for none. */
export function distanceToEdges(edges: ArrayLike<number>, [x, y]: Vec2): number {
  let best = Infinity;
  for (let k = 0; k < edges.length; k += 4) {
    const dx = edges[k + 2] - edges[k];
    const dy = edges[k + 3] - edges[k + 1];
    const length2 = dx * dx + dy * dy;
    const along = length2 > 0 ? ((x - edges[k]) * dx + (y - edges[k + 1]) * dy) / length2 : 0;
    const s = Math.min(1, Math.max(0, along));
    best = Math.min(best, Math.hypot(x - edges[k] - s * dx, y - edges[k + 1] - s * dy));
  }
  return best;
}

export type Circle = Readonly<{ at: Vec2; radiusMm: number }>;

/** Circles inside both faces at the points of a grid and, for the largest, after walking uphill from there; largest first. */
export function inscribedCircles(below: Face, above: Face): Circle[] {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < below.triangles.length; k += 2) {
    box[0] = Math.min(box[0], below.triangles[k]);
    box[1] = Math.min(box[1], below.triangles[k + 1]);
    box[2] = Math.max(box[2], below.triangles[k]);
    box[3] = Math.max(box[3], below.triangles[k + 1]);
  }
  const circles: Circle[] = [];
  for (const face of [below, above]) {
    // Middles of the cap's triangles reach walls that are thinner than the grid is wide.
    for (let k = 0; k < face.triangles.length; k += 6) {
      const t = face.triangles;
      add([(t[k] + t[k + 2] + t[k + 4]) / 3, (t[k + 1] + t[k + 3] + t[k + 5]) / 3]);
    }
  }
  for (let i = 0; i < GRID; i++) {
    for (let j = 0; j < GRID; j++) {
      add([box[0] + ((i + 0.5) / GRID) * (box[2] - box[0]), box[1] + ((j + 0.5) / GRID) * (box[3] - box[1])]);
    }
  }
  circles.sort((a, b) => b.radiusMm - a.radiusMm || a.at[0] - b.at[0] || a.at[1] - b.at[1]);
  if (circles.length > 0) circles.unshift(uphill(circles[0], (box[2] - box[0] + box[3] - box[1]) / (2 * GRID)));
  return circles;

  function radiusAt(at: Vec2): number {
    if (!holds(below, at) || !holds(above, at)) return 0;
    return Math.min(distanceToEdges(below.edges, at), distanceToEdges(above.edges, at));
  }

  function add(at: Vec2): void {
    const radiusMm = radiusAt(at);
    if (radiusMm > 0) circles.push({ at, radiusMm });
  }

  function uphill(start: Circle, firstStepMm: number): Circle {
    let best = start;
    for (let step = firstStepMm; step > 0.01; ) {
      const next = ASIDE.map(([dx, dy]): Vec2 => [best.at[0] + step * dx, best.at[1] + step * dy])
        .map((at) => ({ at, radiusMm: radiusAt(at) }))
        .reduce((a, b) => (b.radiusMm > a.radiusMm ? b : a));
      if (next.radiusMm > best.radiusMm) best = next;
      else step /= 2;
    }
    return best;
  }
}

const GRID = 40;
const ASIDE = [
  [1, 0],
  [0, 1],
  [-1, 0],
  [0, -1],
] as const;
