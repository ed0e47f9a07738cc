import { loopArea } from './loop-measures.ts';
import { pickRings, type Rings, ringCount, windingAt } from './rings.ts';

/**
 * Splits clean rings into connected parts: each outer ring with the holes that lie directly inside it, in the order of
 * the outer rings. A hole without an outer ring is dropped.
 */
export function islandsOf(rings: Rings): Rings[] {
  const n = ringCount(rings);
  if (n === 0) return [];
  const area = new Float64Array(n);
  let outers = 0;
  for (let r = 0; r < n; r++) {
    area[r] = loopArea(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1]);
    if (area[r] > 0) outers++;
  }
  if (outers === 1 && area[0] > 0) return [rings];
  const boxes = boxesOf(rings);
  const members = new Map<number, number[]>();
  for (let r = 0; r < n; r++) if (area[r] > 0) members.set(r, [r]);
  for (let r = 0; r < n; r++) {
    if (area[r] > 0) continue;
    const x = rings.xyMm[2 * rings.ringStart[r]];
    const y = rings.xyMm[2 * rings.ringStart[r] + 1];
    let home = -1;
    for (const outer of members.keys()) {
      const b = 4 * outer;
      if (x < boxes[b] || y < boxes[b + 1] || x > boxes[b + 2] || y > boxes[b + 3]) continue;
      if (home >= 0 && area[outer] >= area[home]) continue;
      if (windingAt(pickRings(rings, [outer]), x, y) !== 0) home = outer;
    }
    if (home >= 0) members.get(home)?.push(r);
  }
  return Array.from(members.values(), (which) => pickRings(rings, which));
}

/** x and y of least and greatest corner, four numbers a ring. */
export function boxesOf(rings: Rings): Float64Array {
  const boxes = new Float64Array(4 * ringCount(rings));
  for (let r = 0; r < ringCount(rings); r++) {
    let x0 = Number.POSITIVE_INFINITY;
    let y0 = Number.POSITIVE_INFINITY;
    let x1 = Number.NEGATIVE_INFINITY;
    let y1 = Number.NEGATIVE_INFINITY;
    for (let i = rings.ringStart[r]; i < rings.ringStart[r + 1]; i++) {
      const x = rings.xyMm[2 * i];
      const y = rings.xyMm[2 * i + 1];
      if (x < x0) x0 = x;
      if (x > x1) x1 = x;
      if (y < y0) y0 = y;
      if (y > y1) y1 = y;
    }
    boxes.set([x0, y0, x1, y1], 4 * r);
  }
  return boxes;
}
