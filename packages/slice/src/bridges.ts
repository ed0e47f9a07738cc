import { type Hatch, hatch } from './hatch.ts';
import { type Rings, ringCount, windingAt } from './rings.ts';

export type Bridge = Readonly<{
  angleRad: number;
  /** share of the spans' length that is anchored at both ends and short enough; 1 when all is */
  share: number;
  /** the anchored spans as strips, overlapping a little */
  strips: Rings;
}>;

/** Directions tried besides those across the longest edges. */
const TURNS = 12;
/** How far beyond the end of a span the layer below is looked for. */
const ANCHOR_MM = 0.1;
/** Spans carried by less than this do not make a bridge; above the second share a stray line does not matter. */
const LEAST_SHARE = 0.5;
const FULL_SHARE = 0.97;

/**
 * The direction in which a hanging area is best bridged: spans are lines across it that end on the layer below at both ends
 * and are at most bridgeMm long. Most carried length wins, then the shortest mean span, then the first direction.
 */
export function bestBridge(area: Rings, below: Rings, bridgeMm: number, stepMm: number): Bridge | undefined {
  let best: { spans: Hatch; carried: Uint8Array; share: number; meanMm: number } | undefined;
  for (const angleRad of directions(area)) {
    const spans = hatch(area, angleRad, stepMm);
    const tried = carriedSpans(spans, below, bridgeMm);
    if (tried.share < LEAST_SHARE) continue;
    const better =
      best === undefined ||
      tried.share > best.share + 0.02 ||
      (tried.share > best.share - 0.02 && tried.meanMm < best.meanMm * 0.999);
    if (better) best = { spans, ...tried };
  }
  if (best === undefined) return undefined;
  const share = best.share >= FULL_SHARE ? 1 : best.share;
  return { angleRad: best.spans.angleRad, share, strips: stripsOf(best.spans, best.carried) };
}

function directions(area: Rings): number[] {
  const angles: number[] = [];
  for (let k = 0; k < TURNS; k++) angles.push((k * Math.PI) / TURNS);
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

function carriedSpans(
  spans: Hatch,
  below: Rings,
  bridgeMm: number,
): { carried: Uint8Array; share: number; meanMm: number } {
  const cos = Math.cos(spans.angleRad);
  const sin = Math.sin(spans.angleRad);
  const carried = new Uint8Array(spans.line.length);
  let total = 0;
  let held = 0;
  let count = 0;
  const onBelow = (u: number, v: number): boolean => windingAt(below, u * cos - v * sin, u * sin + v * cos) !== 0;
  for (let i = 0; i < spans.line.length; i++) {
    const length = spans.u1[i] - spans.u0[i];
    total += length;
    if (length > bridgeMm) continue;
    const v = (spans.line[i] + spans.phase) * spans.spacingMm;
    if (!onBelow(spans.u0[i] - ANCHOR_MM, v) || !onBelow(spans.u1[i] + ANCHOR_MM, v)) continue;
    carried[i] = 1;
    held += length;
    count++;
  }
  return { carried, share: total > 0 ? held / total : 0, meanMm: count > 0 ? held / count : 0 };
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
