import { type EdgeHatch, type Hatch, hatchWithEdges } from './hatch.ts';
import { type Rings, ringCount, ringsAreaMm2 } from './rings.ts';

export type Bridge = Readonly<{
  angleRad: number;
  /** share of the spans' length that is anchored at both ends and short enough; 1 when all is */
  share: number;
  /** the anchored spans as strips, overlapping a little */
  strips: Rings;
}>;

/** Directions tried besides those across the longest edges. */
const TURNS = 12;
/** Smaller places (the crowns of small holes) are tried across and along their longest edge only. */
const SMALL_MM2 = 9;
/** Outlines that come out of the clipper lie on its grid; edges farther apart than this are different ones. */
const TOUCH_MM = 0.005;
/** Spans carried by less than this do not make a bridge; above the second share a stray line does not matter. */
const LEAST_SHARE = 0.5;
const FULL_SHARE = 0.97;

/**
 * The direction in which a hanging area is best bridged: spans are lines across it that end on the layer below at both ends
 * and are at most bridgeMm long. Most carried length wins, then the shortest mean span, then the first direction.
 */
export function bestBridge(area: Rings, below: Rings, bridgeMm: number, stepMm: number): Bridge | undefined {
  const anchored = anchoredEdges(area, below);
  if (!anchored.includes(1)) return undefined;
  let best: Spans | undefined;
  for (const angleRad of directions(area)) {
    const tried = spansAt(area, anchored, angleRad, stepMm, bridgeMm);
    if (tried.share < LEAST_SHARE) continue;
    const more = best === undefined || tried.share > best.share + 0.02;
    if (more || (best !== undefined && tried.share > best.share - 0.02 && tried.meanMm < 0.999 * best.meanMm))
      best = tried;
  }
  if (best === undefined) return undefined;
  const share = best.share >= FULL_SHARE ? 1 : best.share;
  return { angleRad: best.lines.angleRad, share, strips: stripsOf(best.lines, best.carried) };
}

type Spans = Readonly<{ lines: EdgeHatch; carried: Uint8Array; share: number; meanMm: number }>;

function directions(area: Rings): number[] {
  const angles: number[] = [];
  const turns = ringsAreaMm2(area) < SMALL_MM2 ? 0 : TURNS;
  for (let k = 0; k < turns; k++) angles.push((k * Math.PI) / TURNS);
  let longest = 0;
  let along = 0;
  for (let r = 0; r < ringCount(area); r++) {
    const end = area.ringStart[r + 1];
    for (let i = area.ringStart[r]; i < end; i++) {
      const j = i + 1 === end ? area.ringStart[r] : i + 1;
      const dx = area.xyMm[2 * j] - area.xyMm[2 * i];
      const dy = area.xyMm[2 * j + 1] - area.xyMm[2 * i + 1];
      const length = Math.hypot(dx, dy);
      if (length <= longest) continue;
      longest = length;
      along = Math.atan2(dy, dx);
    }
  }
  return [along + Math.PI / 2, along, ...angles];
}

/** Spans of one direction; edge classes come along, so that no end has to be looked up on the layer below. */
function spansAt(area: Rings, anchored: Uint8Array, angleRad: number, stepMm: number, bridgeMm: number): Spans {
  const lines = hatchWithEdges(area, angleRad, stepMm);
  const n = lines.line.length;
  const carried = new Uint8Array(n);
  let total = 0;
  let held = 0;
  let count = 0;
  for (let i = 0; i < n; i++) {
    const length = lines.u1[i] - lines.u0[i];
    total += length;
    if (length > bridgeMm || anchored[lines.edge0[i]] === 0 || anchored[lines.edge1[i]] === 0) continue;
    carried[i] = 1;
    held += length;
    count++;
  }
  return { lines, carried, share: total > 0 ? held / total : 0, meanMm: count > 0 ? held / count : 0 };
}

/** For each edge of the hanging area (by its first point): does it lie on the outline of the layer below, or is it free? */
function anchoredEdges(area: Rings, below: Rings): Uint8Array {
  const near = edgesNear(below, area);
  const anchored = new Uint8Array(area.xyMm.length / 2);
  for (let r = 0; r < ringCount(area); r++) {
    const end = area.ringStart[r + 1];
    for (let i = area.ringStart[r]; i < end; i++) {
      const j = i + 1 === end ? area.ringStart[r] : i + 1;
      const x = (area.xyMm[2 * i] + area.xyMm[2 * j]) / 2;
      const y = (area.xyMm[2 * i + 1] + area.xyMm[2 * j + 1]) / 2;
      anchored[i] = onAnyEdge(near, x, y) ? 1 : 0;
    }
  }
  return anchored;
}

/** Edges of `rings` whose boxes meet the box of `area`: x, y, x, y each. */
function edgesNear(rings: Rings, area: Rings): number[] {
  let [x0, y0, x1, y1] = [
    Number.POSITIVE_INFINITY,
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
  ];
  for (let i = 0; i < area.xyMm.length; i += 2) {
    x0 = Math.min(x0, area.xyMm[i] - TOUCH_MM);
    x1 = Math.max(x1, area.xyMm[i] + TOUCH_MM);
    y0 = Math.min(y0, area.xyMm[i + 1] - TOUCH_MM);
    y1 = Math.max(y1, area.xyMm[i + 1] + TOUCH_MM);
  }
  const near: number[] = [];
  const xy = rings.xyMm;
  for (let r = 0; r < ringCount(rings); r++) {
    const end = rings.ringStart[r + 1];
    let px = xy[2 * end - 2];
    let py = xy[2 * end - 1];
    for (let i = rings.ringStart[r]; i < end; i++) {
      const qx = xy[2 * i];
      const qy = xy[2 * i + 1];
      const apart = (px < x0 && qx < x0) || (px > x1 && qx > x1) || (py < y0 && qy < y0) || (py > y1 && qy > y1);
      if (!apart) near.push(px, py, qx, qy);
      px = qx;
      py = qy;
    }
  }
  return near;
}

function onAnyEdge(edges: readonly number[], x: number, y: number): boolean {
  for (let e = 0; e < edges.length; e += 4) {
    const dx = edges[e + 2] - edges[e];
    const dy = edges[e + 3] - edges[e + 1];
    const px = x - edges[e];
    const py = y - edges[e + 1];
    const length2 = dx * dx + dy * dy;
    const along = length2 > 0 ? Math.min(1, Math.max(0, (px * dx + py * dy) / length2)) : 0;
    const ex = px - along * dx;
    const ey = py - along * dy;
    if (ex * ex + ey * ey <= TOUCH_MM * TOUCH_MM) return true;
  }
  return false;
}

function stripsOf(spans: Hatch, carried: Uint8Array): Rings {
  const cos = Math.cos(spans.angleRad);
  const sin = Math.sin(spans.angleRad);
  const half = 0.51 * spans.spacingMm;
  const xy: number[] = [];
  const ringStart = [0];
  for (let i = 0; i < carried.length; i++) {
    if (carried[i] === 0) continue;
    const v = (spans.line[i] + spans.phase) * spans.spacingMm;
    for (const [u, w] of [
      [spans.u0[i], v - half],
      [spans.u1[i], v - half],
      [spans.u1[i], v + half],
      [spans.u0[i], v + half],
    ]) {
      xy.push(u * cos - w * sin, u * sin + w * cos);
    }
    ringStart.push(xy.length / 2);
  }
  return { xyMm: Float64Array.from(xy), ringStart: Uint32Array.from(ringStart) };
}
