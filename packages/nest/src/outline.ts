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
  const points = ring.map((p) => [p[0], p[1], 0] as [number, number, number]); // x, y, growth already spent here
  for (;;) {
    if (points.length <= 4) break;
    let best: { at: number; cost: number; drop: number; put?: [number, number, number] } | undefined;
    for (let i = 0; i < points.length; i++) {
      const step = dentStep(points, i, toleranceMm) ?? cornerStep(points, i, toleranceMm);
      if (step !== undefined && (best === undefined || step.cost < best.cost)) best = { at: i, ...step };
    }
    if (best === undefined) break;
    applyStep(points, best);
  }
  const out = points.map((p) => [p[0], p[1]] as const);
  // Bridging may make a ring cross itself where two walls are thinner than the tolerance: then keep the original.
  return Math.sign(ringAreaMm2(out)) === Math.sign(ringAreaMm2(ring)) && isSimple(out) ? out : ring;
}

type Corner = [number, number, number];
type Step = { cost: number; drop: number; put?: Corner };

/** Dropping a corner that turns right (a dent) only adds material. */
function dentStep(points: readonly Corner[], i: number, toleranceMm: number): Step | undefined {
  const n = points.length;
  const a = points[(i + n - 1) % n]!;
  const b = points[i]!;
  const c = points[(i + 1) % n]!;
  if ((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0) return undefined;
  const base = Math.hypot(c[0] - a[0], c[1] - a[1]);
  if (base === 0) return undefined;
  const depth = Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / base;
  const along = ((b[0] - a[0]) * (c[0] - a[0]) + (b[1] - a[1]) * (c[1] - a[1])) / base;
  if (along < 0 || along > base) return undefined;
  const cost = depth + Math.max(a[2], b[2], c[2]);
  return cost <= toleranceMm ? { cost, drop: 1 } : undefined;
}

/** An edge between two left turns goes when its neighbours, made longer, meet close outside it. */
function cornerStep(points: readonly Corner[], i: number, toleranceMm: number): Step | undefined {
  const n = points.length;
  const a = points[(i + n - 1) % n]!;
  const b = points[i]!;
  const c = points[(i + 1) % n]!;
  const d = points[(i + 2) % n]!;
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const vx = c[0] - d[0];
  const vy = c[1] - d[1];
  const ex = c[0] - b[0];
  const ey = c[1] - b[1];
  if (ux * ey - uy * ex <= 0 || ex * -vy - ey * -vx <= 0) return undefined;
  const det = ux * vy - uy * vx;
  if (det === 0) return undefined;
  const s = (ex * vy - ey * vx) / det; // b + s·u meets c + t·v
  const t = (ex * uy - ey * ux) / det;
  if (s < 0 || t < 0) return undefined;
  const x = b[0] + s * ux;
  const y = b[1] + s * uy;
  const edge = Math.hypot(ex, ey);
  const height = Math.abs(ex * (y - b[1]) - ey * (x - b[0])) / edge;
  const cost = height + Math.max(b[2], c[2]);
  return cost <= toleranceMm ? { cost, drop: 2, put: [x, y, cost] } : undefined;
}

function applyStep(points: Corner[], step: Step & { at: number }): void {
  const n = points.length;
  if (step.put === undefined) {
    // What is bridged counts against its neighbours, so that repeated small dents do not add up unseen.
    const a = points[(step.at + n - 1) % n]!;
    const c = points[(step.at + 1) % n]!;
    a[2] = Math.max(a[2], step.cost);
    c[2] = Math.max(c[2], step.cost);
    points.splice(step.at, 1);
    return;
  }
  points[step.at] = step.put;
  points.splice((step.at + 1) % n, 1);
}

function isSimple(ring: Ring): boolean {
  const n = ring.length;
  for (let i = 0; i < n; i++) {
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      if (cross(ring[i]!, ring[(i + 1) % n]!, ring[j]!, ring[(j + 1) % n]!)) return false;
    }
  }
  return true;
}

function cross(a: readonly number[], b: readonly number[], c: readonly number[], d: readonly number[]): boolean {
  const side = (p: readonly number[], q: readonly number[], r: readonly number[]): number =>
    (q[0]! - p[0]!) * (r[1]! - p[1]!) - (q[1]! - p[1]!) * (r[0]! - p[0]!);
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
