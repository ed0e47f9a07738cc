import type { Ring } from '@stonehand/model';
import { loopArea, loopLength } from './loop-measures.ts';

/** Flat rings in mm: ring r owns points ringStart[r] … ringStart[r + 1] − 1 of xyMm. Outer rings counter-clockwise, holes clockwise. */
export type Rings = Readonly<{ xyMm: Float64Array; ringStart: Uint32Array }>;

export const NO_RINGS: Rings = { xyMm: new Float64Array(0), ringStart: new Uint32Array(1) };

export const ringCount = (rings: Rings): number => rings.ringStart.length - 1;

export function ringsOf(list: readonly Ring[]): Rings {
  const ringStart = new Uint32Array(list.length + 1);
  list.forEach((ring, r) => {
    ringStart[r + 1] = ringStart[r] + ring.length;
  });
  const xyMm = new Float64Array(2 * ringStart[list.length]);
  let at = 0;
  for (const ring of list) {
    for (const [x, y] of ring) {
      xyMm[at++] = x;
      xyMm[at++] = y;
    }
  }
  return { xyMm, ringStart };
}

export function listOfRings(rings: Rings): Ring[] {
  const list: Ring[] = [];
  for (let r = 0; r < ringCount(rings); r++) {
    const ring: [number, number][] = [];
    for (let i = rings.ringStart[r]; i < rings.ringStart[r + 1]; i++)
      ring.push([rings.xyMm[2 * i], rings.xyMm[2 * i + 1]]);
    list.push(ring);
  }
  return list;
}

/** Area of all rings, holes counted down. */
export function ringsAreaMm2(rings: Rings): number {
  let sum = 0;
  for (let r = 0; r < ringCount(rings); r++) sum += loopArea(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1]);
  return sum;
}

export function ringsLengthMm(rings: Rings): number {
  let sum = 0;
  for (let r = 0; r < ringCount(rings); r++) sum += loopLength(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1]);
  return sum;
}

/** The chosen rings, in the order given. */
export function pickRings(rings: Rings, which: readonly number[]): Rings {
  if (which.length === ringCount(rings)) return rings;
  const ringStart = new Uint32Array(which.length + 1);
  which.forEach((r, i) => {
    ringStart[i + 1] = ringStart[i] + rings.ringStart[r + 1] - rings.ringStart[r];
  });
  const xyMm = new Float64Array(2 * ringStart[which.length]);
  which.forEach((r, i) => {
    xyMm.set(rings.xyMm.subarray(2 * rings.ringStart[r], 2 * rings.ringStart[r + 1]), 2 * ringStart[i]);
  });
  return { xyMm, ringStart };
}

/** All rings one after the other; nothing is united. */
export function concatRings(parts: readonly Rings[]): Rings {
  const filled = parts.filter((part) => ringCount(part) > 0);
  if (filled.length <= 1) return filled[0] ?? NO_RINGS;
  const ringStart = new Uint32Array(filled.reduce((n, part) => n + ringCount(part), 1));
  const xyMm = new Float64Array(filled.reduce((n, part) => n + part.xyMm.length, 0));
  let ring = 0;
  let at = 0;
  for (const part of filled) {
    xyMm.set(part.xyMm, at);
    for (let r = 1; r < part.ringStart.length; r++) ringStart[++ring] = at / 2 + part.ringStart[r];
    at += part.xyMm.length;
  }
  return { xyMm, ringStart };
}

/** Same rings in the same order, every coordinate within the tolerance. */
export function sameRings(a: Rings, b: Rings, toleranceMm: number): boolean {
  if (a === b) return true;
  if (a.xyMm.length !== b.xyMm.length || a.ringStart.length !== b.ringStart.length) return false;
  for (let r = 0; r < a.ringStart.length; r++) if (a.ringStart[r] !== b.ringStart[r]) return false;
  for (let i = 0; i < a.xyMm.length; i++) if (Math.abs(a.xyMm[i] - b.xyMm[i]) > toleranceMm) return false;
  return true;
}

/** Winding number of the rings about a point; 0 outside, 1 inside clean rings. A point on a ring may fall to either side. */
export function windingAt(rings: Rings, x: number, y: number): number {
  const { xyMm: xy, ringStart } = rings;
  let winding = 0;
  for (let r = 0; r < ringStart.length - 1; r++) {
    const end = ringStart[r + 1];
    let px = xy[2 * end - 2];
    let py = xy[2 * end - 1];
    for (let i = ringStart[r]; i < end; i++) {
      const qx = xy[2 * i];
      const qy = xy[2 * i + 1];
      if (py > y !== qy > y && px + ((y - py) / (qy - py)) * (qx - px) > x) winding += qy > py ? 1 : -1;
      px = qx;
      py = qy;
    }
  }
  return winding;
}
