import type { Ring } from '@stonehand/model';
import { FIT_SLACK_MM } from './fit-rectangle.ts';
import { type HalfPlanes, halfPlanes } from './half-planes.ts';
import { smoothHull2 } from './hull2.ts';
import { reach, type TurnedHull } from './turned-hull.ts';

/** Where the hull's origin goes, and its turn. */
export type Place = Readonly<{ turnRad: number; xMm: number; yMm: number }>;

const TRIED_TURNS = 72; // every 5°, beside the turns that the free plate gave

/**
 * Convex areas that a part must not touch: the keep-out areas, and the pockets between the plate and its hull, each as
 * its convex hull grown by the brim (corners mitred, so slightly too large: errs to "does not fit").
 */
export function obstaclesOf(
  usable: Ring,
  plate: Float64Array,
  keepOut: readonly Ring[],
  brimMm: number,
): readonly Float64Array[] {
  const areas = [...keepOut, ...pocketsOf(usable, plate)].map((ring) => smoothHull2(ring.flat()));
  return areas.filter((area) => area.length >= 6).map((area) => grown(area, brimMm));
}

/**
 * A place for the hull inside the region and clear of all obstacles: the given turns first, then every 5°, nearest to 0
 * first. At one turn the search is exact: the hull's origin may lie in a convex polygon, outside a convex polygon for each
 * obstacle (Minkowski sum with the turned hull reflected), and if any place is free, then so is a corner of one of these
 * or a crossing of two of their edges.
 * @param pieces what must keep clear of the obstacles: the hull, or convex pieces of the true outline within it
 */
export function placeAmong(
  hull: TurnedHull,
  region: HalfPlanes,
  obstacles: readonly Float64Array[],
  first: readonly number[],
  pieces: readonly TurnedHull[] = [hull],
): Place | undefined {
  const turns =
    obstacles.length === 0 ? first.slice(0, 1) : [...first, ...evenTurns(), ...first.map((t) => t + Math.PI)];
  for (const turnRad of turns) {
    const free = shrunk(hull, region, turnRad);
    if (free.length === 0) continue;
    const blocked = obstacles
      .flatMap((area) => pieces.map((piece) => forbidden(piece, area, turnRad)))
      .filter((area) => boxesMeet(area, free));
    const at = freePoint(free, blocked);
    if (at !== undefined) return { turnRad, xMm: at[0], yMm: at[1] };
  }
  return undefined;
}

function evenTurns(): number[] {
  const turns = Array.from({ length: TRIED_TURNS }, (_, k) => ((k + 1) >> 1) * (k % 2 === 1 ? 1 : -1));
  return turns.map((k) => (k * 2 * Math.PI) / TRIED_TURNS);
}

/** Where the origin of the turned hull may lie inside the region: the corners, x, y pairs. */
function shrunk(hull: TurnedHull, region: HalfPlanes, turnRad: number): Float64Array {
  const span = 4 * Math.max(...region.reach.map(Math.abs), 1);
  let polygon = [-span, -span, span, -span, span, span, -span, span];
  for (let i = 0; i < region.nx.length; i++) {
    const rad = Math.atan2(region.ny[i], region.nx[i]);
    const limit = region.reach[i] - reach(hull, rad, turnRad) + FIT_SLACK_MM;
    polygon = clipped(polygon, region.nx[i], region.ny[i], limit);
  }
  return Float64Array.from(polygon);
}

function clipped(polygon: readonly number[], nx: number, ny: number, limit: number): number[] {
  const out: number[] = [];
  for (let i = 0; i < polygon.length; i += 2) {
    const j = (i + 2) % polygon.length;
    const a = nx * polygon[i] + ny * polygon[i + 1] - limit;
    const b = nx * polygon[j] + ny * polygon[j + 1] - limit;
    if (a <= 0) out.push(polygon[i], polygon[i + 1]);
    if (a < 0 !== b < 0 && a !== b && a !== 0 && b !== 0) {
      const t = a / (a - b);
      out.push(polygon[i] + t * (polygon[j] - polygon[i]), polygon[i + 1] + t * (polygon[j + 1] - polygon[i + 1]));
    }
  }
  return out;
}

function forbidden(hull: TurnedHull, area: Float64Array, turnRad: number): Float64Array {
  const cos = Math.cos(turnRad);
  const sin = Math.sin(turnRad);
  const sums: number[] = [];
  for (let k = 0; k < hull.x.length; k++) {
    const x = cos * hull.x[k] - sin * hull.y[k];
    const y = sin * hull.x[k] + cos * hull.y[k];
    for (let i = 0; i < area.length; i += 2) sums.push(area[i] - x, area[i + 1] - y);
  }
  return smoothHull2(sums);
}

function freePoint(free: Float64Array, blocked: readonly Float64Array[]): readonly [number, number] | undefined {
  const walls = [halfPlanes(smoothHull2(free)), ...blocked.map((b) => halfPlanes(b))];
  const inFree = (x: number, y: number): boolean => deepest(walls[0], x, y) >= -FIT_SLACK_MM;
  const good = (x: number, y: number): boolean =>
    inFree(x, y) && walls.slice(1).every((wall) => deepest(wall, x, y) <= FIT_SLACK_MM);
  const centre = mean(free);
  if (good(centre[0], centre[1])) return centre;
  const rings = [free, ...blocked];
  for (const ring of rings)
    for (let i = 0; i < ring.length; i += 2) if (good(ring[i], ring[i + 1])) return [ring[i], ring[i + 1]];
  for (let a = 0; a < rings.length; a++) {
    for (let b = a + 1; b < rings.length; b++) {
      const hit = crossings(rings[a], rings[b]).find(([x, y]) => good(x, y));
      if (hit !== undefined) return hit;
    }
  }
  return undefined;
}

function boxesMeet(p: Float64Array, q: Float64Array): boolean {
  for (let k = 0; k < 2; k++) {
    const [a, b] = [p, q].map((xy) => xy.filter((_, i) => i % 2 === k));
    if (Math.max(...a) < Math.min(...b) || Math.max(...b) < Math.min(...a)) return false;
  }
  return true;
}

/** Depth of a point below the nearest edge; negative outside. A free area without extent has no edges and no depth. */
function deepest(wall: HalfPlanes, x: number, y: number): number {
  let depth = Infinity;
  for (let i = 0; i < wall.nx.length; i++) {
    const d = wall.reach[i] - wall.nx[i] * x - wall.ny[i] * y;
    if (!Number.isNaN(d)) depth = Math.min(depth, d);
  }
  return depth;
}

function crossings(p: Float64Array, q: Float64Array): (readonly [number, number])[] {
  const found: (readonly [number, number])[] = [];
  for (let i = 0; i < p.length; i += 2) {
    const i2 = (i + 2) % p.length;
    const ux = p[i2] - p[i];
    const uy = p[i2 + 1] - p[i + 1];
    for (let j = 0; j < q.length; j += 2) {
      const j2 = (j + 2) % q.length;
      const vx = q[j2] - q[j];
      const vy = q[j2 + 1] - q[j + 1];
      const cross = ux * vy - uy * vx;
      if (cross === 0) continue;
      const s = ((q[j] - p[i]) * vy - (q[j + 1] - p[i + 1]) * vx) / cross;
      const t = ((q[j] - p[i]) * uy - (q[j + 1] - p[i + 1]) * ux) / cross;
      if (s >= 0 && s <= 1 && t >= 0 && t <= 1) found.push([p[i] + s * ux, p[i + 1] + s * uy]);
    }
  }
  return found;
}

/** Each edge moved out by the brim; the corners follow along the bisectors. */
function grown(area: Float64Array, brimMm: number): Float64Array {
  if (brimMm === 0) return area;
  const { nx, ny } = halfPlanes(area);
  const n = nx.length;
  return area.map((v, k) => {
    const i = k >> 1;
    const before = (i + n - 1) % n;
    const share = brimMm / (1 + nx[i] * nx[before] + ny[i] * ny[before]);
    return v + share * (k % 2 === 0 ? nx[i] + nx[before] : ny[i] + ny[before]);
  });
}

/** The parts of the hull that do not belong to the ring, one for each hull edge that the ring does not follow. */
function pocketsOf(usable: Ring, plate: Float64Array): Ring[] {
  const onHull = usable.map((p) => {
    for (let i = 0; i < plate.length; i += 2) if (plate[i] === p[0] && plate[i + 1] === p[1]) return true;
    return false;
  });
  const first = onHull.indexOf(true);
  const pockets: Ring[] = [];
  let pocket: (readonly [number, number])[] = [];
  for (let k = 0; k <= usable.length; k++) {
    const i = (first + k) % usable.length;
    pocket.push(usable[i]);
    if (!onHull[i] || pocket.length === 1) continue;
    if (pocket.length > 2) pockets.push(pocket);
    pocket = [usable[i]];
  }
  return pockets;
}

function mean(xy: Float64Array): readonly [number, number] {
  let x = 0;
  let y = 0;
  for (let i = 0; i < xy.length; i += 2) {
    x += xy[i];
    y += xy[i + 1];
  }
  return [(2 * x) / xy.length, (2 * y) / xy.length];
}
