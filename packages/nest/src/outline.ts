import { StonehandError } from '@stonehand/base';
import type { Ring } from '@stonehand/model';

/** One outer ring with the holes that lie in it. */
export type Face = Readonly<{ outer: Ring; holes: readonly Ring[] }>;

/** Twice the signed area is positive for counter-clockwise rings; this is the area itself. */
export function ringAreaMm2(ring: Ring): number {
  let twice = 0;
  for (let i = 0; i < ring.length; i++) {
    const a = ring[i]!;
    const b = ring[(i + 1) % ring.length]!;
    twice += a[0] * b[1] - a[1] * b[0];
  }
  return twice / 2;
}

/**
 * Sorts rings into outlines with holes: counter-clockwise rings are outer ones, clockwise ones are holes and go to the
 * smallest outer ring around them. A lone clockwise ring is taken as an outer ring written backwards.
 * @throws StonehandError DATA_INVALID when there is no ring with an area
 */
export function facesOf(rings: readonly Ring[], what: string): Face[] {
  const clean = rings.map(withoutRepeats).filter((ring) => ring.length >= 3 && ringAreaMm2(ring) !== 0);
  const outers = clean.filter((ring) => ringAreaMm2(ring) > 0);
  if (outers.length === 0 && clean.length === 1) outers.push([...clean[0]!].reverse());
  if (outers.length === 0) {
    throw new StonehandError('DATA_INVALID', `${what}: the outline encloses no area`, 'Give at least three corners.');
  }
  const faces = outers.map((outer) => ({ outer, areaMm2: ringAreaMm2(outer), holes: [] as Ring[] }));
  for (const ring of clean) {
    if (ringAreaMm2(ring) > 0 || (clean.length === 1 && outers.length === 1)) continue;
    const around = faces
      .filter((face) => isInside(ring[0]!, face.outer) || isInside(ring[1]!, face.outer))
      .sort((a, b) => a.areaMm2 - b.areaMm2);
    around[0]?.holes.push(ring);
  }
  return faces;
}

export function outlineAreaMm2(faces: readonly Face[]): number {
  let area = 0;
  for (const face of faces) {
    area += ringAreaMm2(face.outer);
    for (const hole of face.holes) area += ringAreaMm2(hole);
  }
  return area;
}

/** Even–odd test; points on the edge may go either way. */
function isInside(point: readonly [number, number], ring: Ring): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const a = ring[i]!;
    const b = ring[j]!;
    if (a[1] > point[1] !== b[1] > point[1]) {
      if (point[0] < ((b[0] - a[0]) * (point[1] - a[1])) / (b[1] - a[1]) + a[0]) inside = !inside;
    }
  }
  return inside;
}

function withoutRepeats(ring: Ring): Ring {
  const out: (readonly [number, number])[] = [];
  for (const point of ring) {
    const last = out.at(-1);
    if (last === undefined || last[0] !== point[0] || last[1] !== point[1]) out.push(point);
  }
  const first = out[0];
  const last = out.at(-1);
  if (out.length > 1 && first![0] === last![0] && first![1] === last![1]) out.pop();
  return out;
}

/**
 * An outline with fewer corners that still covers the given one, growing it by at most toleranceMm: a dent shallower
 * than that is bridged, a blunt corner is replaced by the meeting point of its neighbours. Curved shadows have
 * hundreds of corners, and every one costs in each collision test. What does not overlap simplified does not overlap.
 */
export function simplifyOutward(face: Face, toleranceMm: number): Face {
  return {
    outer: simplifyRing(face.outer, toleranceMm),
    holes: face.holes.map((hole) => simplifyRing(hole, toleranceMm)).filter((hole) => ringAreaMm2(hole) < 0),
  };
}

// Material lies left of both outer rings and holes, so one rule serves both.
function simplifyRing(ring: Ring, toleranceMm: number): Ring {
  const points = ring.map((p): Corner => ({ x: p[0], y: p[1], grown: 0 }));
  const stepAt = (i: number): Step | undefined =>
    dentStep(points, i, toleranceMm) ?? cornerStep(points, i, toleranceMm);
  const steps = points.map((_, i) => stepAt(i));
  while (points.length > 4) {
    let at = -1;
    for (let i = 0; i < steps.length; i++) {
      if (steps[i] !== undefined && (at < 0 || steps[i]!.cost < steps[at]!.cost)) at = i;
    }
    if (at < 0) break;
    const step = steps[at]!;
    // Bridging may cross another wall that is nearer than the tolerance: that corner stays, until its neighbours change.
    if (crossesRing(points, at, step)) {
      steps[at] = undefined;
      continue;
    }
    const first = applyStep(points, steps, at, step);
    for (let k = first - 2; k <= first + 2; k++) {
      const i = (k + points.length) % points.length;
      steps[i] = stepAt(i);
    }
  }
  const out = points.map((p) => [p.x, p.y] as const);
  return Math.sign(ringAreaMm2(out)) === Math.sign(ringAreaMm2(ring)) ? out : ring;
}

/** `grown`: how far the outline was moved out here already. */
type Corner = { readonly x: number; readonly y: number; grown: number };
/** Without `put` the corner goes; with it, the corner and the next give way to one. */
type Step = { cost: number; put?: Corner };

/** Dropping a corner that turns right (a dent) only adds material. */
function dentStep(points: readonly Corner[], i: number, toleranceMm: number): Step | undefined {
  const n = points.length;
  const a = points[(i + n - 1) % n]!;
  const b = points[i]!;
  const c = points[(i + 1) % n]!;
  if ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) > 0) return undefined;
  const base = Math.hypot(c.x - a.x, c.y - a.y);
  if (base === 0) return undefined;
  const depth = Math.abs((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)) / base;
  const along = ((b.x - a.x) * (c.x - a.x) + (b.y - a.y) * (c.y - a.y)) / base;
  if (along < 0 || along > base) return undefined;
  const cost = depth + Math.max(a.grown, b.grown, c.grown);
  return cost <= toleranceMm ? { cost } : undefined;
}

/** An edge between two left turns goes when its neighbours, made longer, meet close outside it. */
function cornerStep(points: readonly Corner[], i: number, toleranceMm: number): Step | undefined {
  const n = points.length;
  const a = points[(i + n - 1) % n]!;
  const b = points[i]!;
  const c = points[(i + 1) % n]!;
  const d = points[(i + 2) % n]!;
  const ux = b.x - a.x;
  const uy = b.y - a.y;
  const vx = c.x - d.x;
  const vy = c.y - d.y;
  const ex = c.x - b.x;
  const ey = c.y - b.y;
  if (ux * ey - uy * ex <= 0 || ex * -vy - ey * -vx <= 0) return undefined;
  const det = ux * vy - uy * vx;
  if (det === 0) return undefined;
  const s = (ex * vy - ey * vx) / det; // b + s·u meets c + t·v
  const t = (ex * uy - ey * ux) / det;
  if (s < 0 || t < 0) return undefined;
  const x = b.x + s * ux;
  const y = b.y + s * uy;
  const edge = Math.hypot(ex, ey);
  const height = Math.abs(ex * (y - b.y) - ey * (x - b.x)) / edge;
  const cost = height + Math.max(b.grown, c.grown);
  return cost <= toleranceMm ? { cost, put: { x, y, grown: cost } } : undefined;
}

/** @returns where the corner now is that took the place of what went */
function applyStep(points: Corner[], steps: (Step | undefined)[], at: number, { cost, put }: Step): number {
  const n = points.length;
  if (put === undefined) {
    // What is bridged counts against its neighbours, so that repeated small dents do not add up unseen.
    const before = points[(at + n - 1) % n]!;
    const after = points[(at + 1) % n]!;
    before.grown = Math.max(before.grown, cost);
    after.grown = Math.max(after.grown, cost);
    points.splice(at, 1);
    steps.splice(at, 1);
    return at % points.length;
  }
  points[at] = put;
  const gone = (at + 1) % n;
  points.splice(gone, 1);
  steps.splice(gone, 1);
  return gone < at ? at - 1 : at;
}

/** Whether the new edges of a step cross any that stays. */
function crossesRing(points: readonly Corner[], at: number, { put }: Step): boolean {
  const n = points.length;
  const dropped = put === undefined ? 1 : 2;
  const from = points[(at + n - 1) % n]!;
  const to = points[(at + dropped) % n]!;
  // Edges k → k + 1 that stay: all but those from `from` to `to`; the two that end there touch the new ones, and only touch.
  for (let k = dropped; k < n - 1; k++) {
    const p = points[(at + k) % n]!;
    const q = points[(at + k + 1) % n]!;
    if (put === undefined ? doCross(from, to, p, q) : doCross(from, put, p, q) || doCross(put, to, p, q)) return true;
  }
  return false;
}

type Point = Readonly<{ x: number; y: number }>;

function doCross(a: Point, b: Point, c: Point, d: Point): boolean {
  const side = (p: Point, q: Point, r: Point): number => (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
