import { boxesOf } from './islands.ts';
import { loopArea } from './loop-measures.ts';
import { type Rings, ringCount } from './rings.ts';

/**
 * How far the outline moves from one layer to the next. What the upper layer has more lies within outMm of the outlines of both, what it has
 * less within inMm; upper bounds, infinite where the loops of the two do not correspond.
 */
export type OutlineMove = Readonly<{ outMm: number; inMm: number }>;

const STILL: OutlineMove = { outMm: 0, inMm: 0 };
const UNKNOWN: OutlineMove = { outMm: Number.POSITIVE_INFINITY, inMm: Number.POSITIVE_INFINITY };

/** Moves between neighbouring layers, each found when first asked for: moveTo(i) is the one from layer i − 1 to layer i. */
export function outlineMoves(regions: readonly Rings[]): (upper: number) => OutlineMove {
  const known: OutlineMove[] = [];
  return (upper) => {
    known[upper] ??= outlineMove(regions[upper - 1], regions[upper]);
    return known[upper];
  };
}

/**
 * Loops are matched one to one and each pair is walked at once, so that the upper one is drawn into the lower one by short straight strokes. The
 * difference of the areas is swept by the strokes: a point that only the upper layer covers lies between two strokes that go outwards.
 */
export function outlineMove(lower: Rings, upper: Rings): OutlineMove {
  if (lower === upper) return STILL;
  const partner = partners(lower, upper);
  if (partner === undefined) return UNKNOWN;
  const move = { outMm: 0, inMm: 0 };
  for (let r = 0; r < partner.length; r++) sweep(lower, partner[r], upper, r, move);
  return move;
}

/** For each ring of `upper` one of `lower` of the same direction, the nearest by its box; undefined when they are not as many. */
function partners(lower: Rings, upper: Rings): Int32Array | undefined {
  const n = ringCount(upper);
  if (ringCount(lower) !== n || n === 0) return undefined;
  const partner = new Int32Array(n);
  if (n === 1) return partner;
  const [a, b] = [boxesOf(upper), boxesOf(lower)];
  const [outA, outB] = [upper, lower].map((rings) =>
    Uint8Array.from({ length: n }, (_, r) =>
      loopArea(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1]) > 0 ? 1 : 0,
    ),
  );
  const taken = new Uint8Array(n);
  for (let r = 0; r < n; r++) {
    let best = -1;
    let nearest = Number.POSITIVE_INFINITY;
    for (let q = 0; q < n; q++) {
      if (taken[q] || outA[r] !== outB[q]) continue;
      let apart = 0;
      for (let k = 0; k < 4; k++) apart = Math.max(apart, Math.abs(a[4 * r + k] - b[4 * q + k]));
      if (apart < nearest) {
        nearest = apart;
        best = q;
      }
    }
    if (best < 0) return undefined;
    taken[best] = 1;
    partner[r] = best;
  }
  return partner;
}

/** Walks ring `u` of upper and ring `l` of lower side by side: whichever next corner is nearer to the other's edge comes first. */
function sweep(lower: Rings, l: number, upper: Rings, u: number, move: { outMm: number; inMm: number }): void {
  const a = upper.xyMm;
  const b = lower.xyMm;
  const a0 = upper.ringStart[u];
  const b0 = lower.ringStart[l];
  const n = upper.ringStart[u + 1] - a0;
  const m = lower.ringStart[l + 1] - b0;
  const start = nearestOnRing(b, b0, m, a[2 * a0], a[2 * a0 + 1]);
  // The pair of points reached so far, and how many corners of each ring lie behind it.
  let ax = a[2 * a0];
  let ay = a[2 * a0 + 1];
  let bx = start.x;
  let by = start.y;
  let length2 = (ax - bx) * (ax - bx) + (ay - by) * (ay - by);
  let out2 = 0;
  let in2 = 0;
  for (let i = 0, j = 0; i < n || j <= m; ) {
    const nextA = 2 * (a0 + ((i + 1) % n));
    const ax1 = i < n ? a[nextA] : ax;
    const ay1 = i < n ? a[nextA + 1] : ay;
    // After the m corners behind the start comes the start itself again.
    const nextB = 2 * (b0 + ((start.edge + 1 + j) % m));
    const bx1 = j < m ? b[nextB] : start.x;
    const by1 = j < m ? b[nextB + 1] : start.y;
    // The next corner of one ring beside the nearest point of the other's rest of an edge.
    const onB = share(bx, by, bx1, by1, ax1, ay1);
    const px = bx + onB * (bx1 - bx);
    const py = by + onB * (by1 - by);
    const toB = (ax1 - px) * (ax1 - px) + (ay1 - py) * (ay1 - py);
    const onA = share(ax, ay, ax1, ay1, bx1, by1);
    const qx = ax + onA * (ax1 - ax);
    const qy = ay + onA * (ay1 - ay);
    const toA = (bx1 - qx) * (bx1 - qx) + (by1 - qy) * (by1 - qy);
    const stepA = j > m || (i < n && toB <= toA);
    const cx = stepA ? ax1 : qx;
    const cy = stepA ? ay1 : qy;
    const dx = stepA ? px : bx1;
    const dy = stepA ? py : by1;
    const next2 = stepA ? toB : toA;
    // Triangles (a, c, b) and (c, d, b) between the two strokes: counter-clockwise where the upper outline lies farther out.
    const first = (cx - ax) * (by - ay) - (cy - ay) * (bx - ax);
    const second = (dx - cx) * (by - cy) - (dy - cy) * (bx - cx);
    const longest = Math.max(next2, length2);
    if ((first > 0 || second > 0) && longest > out2) out2 = longest;
    if ((first < 0 || second < 0) && longest > in2) in2 = longest;
    ax = cx;
    ay = cy;
    bx = dx;
    by = dy;
    length2 = next2;
    if (stepA) i++;
    else j++;
  }
  move.outMm = Math.max(move.outMm, Math.sqrt(out2));
  move.inMm = Math.max(move.inMm, Math.sqrt(in2));
}

/** Where along p → q, from 0 to 1, is the point nearest to c? */
function share(px: number, py: number, qx: number, qy: number, cx: number, cy: number): number {
  const dx = qx - px;
  const dy = qy - py;
  const length2 = dx * dx + dy * dy;
  if (length2 === 0) return 0;
  const along = ((cx - px) * dx + (cy - py) * dy) / length2;
  return along <= 0 ? 0 : Math.min(along, 1);
}

function nearestOnRing(
  xy: Float64Array,
  first: number,
  n: number,
  x: number,
  y: number,
): { edge: number; x: number; y: number } {
  const found = { edge: 0, x: xy[2 * first], y: xy[2 * first + 1] };
  let best = Number.POSITIVE_INFINITY;
  for (let e = 0; e < n; e++) {
    const p = 2 * (first + e);
    const q = 2 * (first + ((e + 1) % n));
    const on = share(xy[p], xy[p + 1], xy[q], xy[q + 1], x, y);
    const px = xy[p] + on * (xy[q] - xy[p]);
    const py = xy[p + 1] + on * (xy[q + 1] - xy[p + 1]);
    const d = (x - px) ** 2 + (y - py) ** 2;
    if (d >= best) continue;
    best = d;
    found.edge = e;
    found.x = px;
    found.y = py;
  }
  return found;
}
