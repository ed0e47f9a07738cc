import type { Placed, Printer, Ring } from '@stonehand/model';
import { difference, type Geom, intersection } from 'polyclip-ts';

/** What a checker needs to know of a copy. */
export type Outline = Readonly<{ copyId: string; footprint: readonly Ring[]; brimMm: number }>;

/**
 * Independent check of a plate with polyclip-ts (areas) and plain segment distances: every complaint in words, none when
 * nothing overlaps, nothing leaves the usable area or enters a keep-out, and all gaps are kept.
 * @param slackMm allowed for rounding
 */
export function plateFaults(
  outlines: readonly Outline[],
  placed: readonly Placed[],
  printer: Pick<Printer, 'usable' | 'keepOut'>,
  clearanceMm: number,
  slackMm = 1e-6,
): string[] {
  const faults: string[] = [];
  const laid = placed.map((at) => {
    const outline = outlines.find((o) => o.copyId === at.copyId)!;
    return { ...outline, rings: outline.footprint.map((ring) => moved(ring, at)) };
  });
  // An area of slack × outline's length is what moving an outline by the slack can cut off.
  const slackMm2 = slackMm * 4000;
  for (const [i, a] of laid.entries()) {
    if (areaOf(difference(geomOf(a.rings), [[...printer.usable] as [number, number][]])) > slackMm2) {
      faults.push(`${a.copyId} leaves the usable area`);
    }
    if (ringsDistance(a.rings, [printer.usable]) < a.brimMm - slackMm)
      faults.push(`${a.copyId}'s brim leaves the usable area`);
    for (const keepOut of printer.keepOut) {
      if (areaOf(intersection(geomOf(a.rings), [[...keepOut] as [number, number][]])) > slackMm2) {
        faults.push(`${a.copyId} enters a keep-out`);
      }
      if (ringsDistance(a.rings, [keepOut]) < a.brimMm - slackMm) faults.push(`${a.copyId}'s brim enters a keep-out`);
    }
    for (const b of laid.slice(i + 1)) {
      if (areaOf(intersection(geomOf(a.rings), geomOf(b.rings))) > slackMm2)
        faults.push(`${a.copyId} overlaps ${b.copyId}`);
      const gap = ringsDistance(a.rings, b.rings);
      if (gap < clearanceMm + a.brimMm + b.brimMm - slackMm) {
        faults.push(`${a.copyId} and ${b.copyId} are ${gap.toFixed(4)} mm apart`);
      }
    }
  }
  return faults;
}

export function moved(ring: Ring, at: Pick<Placed, 'xMm' | 'yMm' | 'turnDeg'>): Ring {
  const rad = (at.turnDeg * Math.PI) / 180;
  return ring.map(([x, y]) => [
    x * Math.cos(rad) - y * Math.sin(rad) + at.xMm,
    x * Math.sin(rad) + y * Math.cos(rad) + at.yMm,
  ]);
}

// polyclip-ts stumbles over edges that miss each other by the last bit; 1e-9 mm is a thousandth of the slack.
const GRID_PER_MM = 1e9;

/** Outer rings (counter-clockwise) each with the clockwise rings whose first corner lies in them. */
function geomOf(exact: readonly Ring[]): Geom {
  const onGrid = (v: number): number => Math.round(v * GRID_PER_MM) / GRID_PER_MM;
  const rings = exact.map((ring): Ring => ring.map(([x, y]) => [onGrid(x), onGrid(y)]));
  const outers = rings.filter((ring) => signedArea(ring) > 0);
  const holes = rings.filter((ring) => signedArea(ring) < 0);
  return outers.map((outer) => [
    [...outer] as [number, number][],
    ...holes.filter((hole) => isIn(hole[0]!, outer)).map((hole) => [...hole] as [number, number][]),
  ]);
}

function areaOf(shapes: readonly (readonly (readonly (readonly [number, number])[])[])[]): number {
  let sum = 0;
  for (const [outer, ...holes] of shapes) {
    sum += Math.abs(signedArea(outer!)) - holes.reduce((all, hole) => all + Math.abs(signedArea(hole)), 0);
  }
  return sum;
}

function signedArea(ring: readonly (readonly [number, number])[]): number {
  return ring.reduce((sum, [x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    return sum + (x * ny - y * nx) / 2;
  }, 0);
}

function isIn([x, y]: readonly [number, number], ring: Ring): boolean {
  let inside = false;
  ring.forEach(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length]!;
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  });
  return inside;
}

/** Least distance between the edges of two sets of rings. */
export function ringsDistance(as: readonly Ring[], bs: readonly Ring[]): number {
  let least = Infinity;
  for (const a of as) {
    for (const b of bs) {
      for (let i = 0; i < a.length; i++) {
        for (let j = 0; j < b.length; j++) {
          least = Math.min(least, edgeDistance(a[i]!, a[(i + 1) % a.length]!, b[j]!, b[(j + 1) % b.length]!));
        }
      }
    }
  }
  return least;
}

type Point = readonly [number, number];

function edgeDistance(a: Point, b: Point, c: Point, d: Point): number {
  const side = (p: Point, q: Point, r: Point): number => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return 0;
  return Math.min(toEdge(a, c, d), toEdge(b, c, d), toEdge(c, a, b), toEdge(d, a, b));
}

function toEdge(p: Point, a: Point, b: Point): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const squared = dx * dx + dy * dy;
  const t = squared === 0 ? 0 : Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / squared));
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
}
