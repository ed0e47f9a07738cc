import type { LayerLoops } from '@stonehand/model';
import { loopArea } from './loop-measures.ts';
import type { Rings } from './rings.ts';

/** A fifth of the accuracy a tuned machine reaches (check values B4: ±0.05 to 0.1 mm); makes clipping 4 to 8 times cheaper. */
export const SIMPLIFY_MM = 0.01;

/** Loops below this area are dust: a square of two tolerances a side. */
const DUST_MM2 = (2 * SIMPLIFY_MM) ** 2;

/**
 * Loops of one layer with points left out that lie within the tolerance of the line between their neighbours
 * (Douglas–Peucker). Each loop starts at its leftmost, then lowest point, so that equal outlines give equal numbers
 * whatever triangle the walk began with.
 */
export function simplifiedLayer(loops: LayerLoops, layer: number, toleranceMm: number = SIMPLIFY_MM): Rings {
  const from = loops.layerStart[layer];
  const to = loops.layerStart[layer + 1];
  const xy = new Float64Array(2 * (loops.loopStart[to] - loops.loopStart[from]));
  const ringStart = [0];
  let at = 0;
  for (let l = from; l < to; l++) {
    const end = simplifyRing(loops.xyMm, loops.loopStart[l], loops.loopStart[l + 1], toleranceMm, xy, at);
    if (end - at < 6 || Math.abs(loopArea(xy, at / 2, end / 2)) < DUST_MM2) continue;
    at = end;
    ringStart.push(at / 2);
  }
  return { xyMm: xy.slice(0, at), ringStart: Uint32Array.from(ringStart) };
}

/** Rings with points left out that lie within the tolerance of the line between their neighbours; rings smaller than a square of two tolerances go. */
export function simplifiedRings(rings: Rings, toleranceMm: number | ((ring: number) => number)): Rings {
  const xy = new Float64Array(rings.xyMm.length);
  const ringStart = [0];
  let at = 0;
  for (let r = 0; r + 1 < rings.ringStart.length; r++) {
    const tolerance = typeof toleranceMm === 'number' ? toleranceMm : toleranceMm(r);
    const end = simplifyRing(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1], tolerance, xy, at);
    if (end - at < 6 || Math.abs(loopArea(xy, at / 2, end / 2)) < (2 * tolerance) ** 2) continue;
    at = end;
    ringStart.push(at / 2);
  }
  return { xyMm: xy.slice(0, at), ringStart: Uint32Array.from(ringStart) };
}

/** Writes the ring at `out` from index `at` on; returns the index behind its last number. */
export function simplifyRing(
  xy: Float64Array,
  start: number,
  end: number,
  toleranceMm: number,
  out: Float64Array,
  at: number,
): number {
  const n = end - start;
  if (n < 3) return at;
  let first = start;
  for (let i = start + 1; i < end; i++) {
    const dx = xy[2 * i] - xy[2 * first];
    if (dx < 0 || (dx === 0 && xy[2 * i + 1] < xy[2 * first + 1])) first = i;
  }
  const ring = rotated(xy, start, end, first);
  let far = 0;
  let farthest = 0;
  for (let i = 1; i < n; i++) {
    const d = (ring[2 * i] - ring[0]) ** 2 + (ring[2 * i + 1] - ring[1]) ** 2;
    if (d > farthest) {
      farthest = d;
      far = i;
    }
  }
  if (far === 0) return at;
  if (kept.length <= n) kept = new Uint8Array(2 * n);
  const keep = kept;
  keep.fill(0, 0, n + 1);
  keep[0] = keep[far] = 1;
  keepFarPoints(ring, 0, far, toleranceMm * toleranceMm, keep);
  keepFarPoints(ring, far, n, toleranceMm * toleranceMm, keep);
  let to = at;
  for (let i = 0; i < n; i++) {
    if (keep[i] === 0) continue;
    out[to++] = ring[2 * i];
    out[to++] = ring[2 * i + 1];
  }
  return to;
}

/** Working arrays of the last ring. */
let turned = new Float64Array(1 << 12);
let kept = new Uint8Array(1 << 11);

/** The ring from `first` on, with its first point repeated at the end; good until the next call. */
function rotated(xy: Float64Array, start: number, end: number, first: number): Float64Array {
  const n = end - start;
  if (turned.length < 2 * n + 2) turned = new Float64Array(4 * n + 4);
  const ring = turned;
  let to = 0;
  for (let i = 2 * first; i < 2 * end; i++) ring[to++] = xy[i];
  for (let i = 2 * start; i < 2 * first; i++) ring[to++] = xy[i];
  ring[2 * n] = ring[0];
  ring[2 * n + 1] = ring[1];
  return ring;
}

/** Douglas–Peucker on the points between a and b, with a stack of spans instead of recursion. */
export function keepFarPoints(xy: Float64Array, a: number, b: number, tolerance2: number, keep: Uint8Array): void {
  const spans = [a, b];
  while (spans.length > 0) {
    const to = spans.pop() as number;
    const from = spans.pop() as number;
    if (to - from < 2) continue;
    const ax = xy[2 * from];
    const ay = xy[2 * from + 1];
    const dx = xy[2 * to] - ax;
    const dy = xy[2 * to + 1] - ay;
    const length2 = dx * dx + dy * dy;
    let split = -1;
    let worst = tolerance2;
    for (let i = from + 1; i < to; i++) {
      const px = xy[2 * i] - ax;
      const py = xy[2 * i + 1] - ay;
      const along = length2 > 0 ? Math.min(1, Math.max(0, (px * dx + py * dy) / length2)) : 0;
      const ex = px - along * dx;
      const ey = py - along * dy;
      const d = ex * ex + ey * ey;
      if (d > worst) {
        worst = d;
        split = i;
      }
    }
    if (split < 0) continue;
    keep[split] = 1;
    spans.push(from, split, split, to);
  }
}
