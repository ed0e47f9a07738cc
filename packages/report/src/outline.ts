import type { Ring, Vec2 } from '@stonehand/model';

/** Ring turned counter-clockwise by turnDeg about the origin, then moved: how a plate's placement is meant. */
export function placeRing(ring: Ring, turnDeg: number, xMm: number, yMm: number): Ring {
  const turn = ((turnDeg % 360) + 360) % 360;
  const quarter = turn % 90 === 0;
  const c = quarter ? [1, 0, -1, 0][turn / 90]! : Math.cos((turn * Math.PI) / 180);
  const s = quarter ? [0, 1, 0, -1][turn / 90]! : Math.sin((turn * Math.PI) / 180);
  return ring.map(([x, y]) => [c * x - s * y + xMm, s * x + c * y + yMm] as const);
}

/** Twice the area to the left of the ring, over two. */
export function ringArea(ring: Ring): number {
  let sum = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    sum += ring[j]![0] * ring[i]![1] - ring[i]![0] * ring[j]![1];
  }
  return sum / 2;
}

/** Fewer points, nowhere further than toleranceMm from the outline (Douglas & Peucker 1973). For drawing only. */
export function simplifyRing(ring: Ring, toleranceMm: number): Ring {
  if (ring.length <= 4) return ring;
  const keep = new Uint8Array(ring.length);
  keep[0] = 1;
  // A closed ring has no ends: split it at the point farthest from its first.
  let far = 0;
  let farthest = -1;
  for (let i = 1; i < ring.length; i++) {
    const d = Math.hypot(ring[i]![0] - ring[0]![0], ring[i]![1] - ring[0]![1]);
    if (d > farthest) {
      farthest = d;
      far = i;
    }
  }
  keep[far] = 1;
  const spans: [number, number][] = [
    [0, far],
    [far, ring.length],
  ];
  while (spans.length > 0) {
    const [from, to] = spans.pop()!;
    const a = ring[from]!;
    const b = ring[to % ring.length]!;
    let worst = toleranceMm;
    let at = -1;
    for (let i = from + 1; i < to; i++) {
      const d = distanceToSegment(ring[i]!, a, b);
      if (d > worst) {
        worst = d;
        at = i;
      }
    }
    if (at < 0) continue;
    keep[at] = 1;
    spans.push([from, at], [at, to]);
  }
  return ring.filter((_, i) => keep[i] === 1);
}

function distanceToSegment(p: Vec2, a: Vec2, b: Vec2): number {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const length2 = ux * ux + uy * uy;
  const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / length2));
  return Math.hypot(p[0] - a[0] - t * ux, p[1] - a[1] - t * uy);
}

/** Whether the point is inside, holes counted (even–odd). */
export function insideRings(rings: readonly Ring[], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
    }
  }
  return inside;
}

/**
 * Where a label of the given height goes: the middle of the widest level stretch inside the outline, and how wide that is.
 * Looks at 15 levels only; a label needs no optimum.
 */
export function labelSpot(rings: readonly Ring[], labelMm: number): { x: number; y: number; widthMm: number } {
  let minY = Number.POSITIVE_INFINITY;
  let maxY = Number.NEGATIVE_INFINITY;
  for (const ring of rings) {
    for (const [, y] of ring) {
      if (y < minY) minY = y;
      if (y > maxY) maxY = y;
    }
  }
  let best = { x: 0, y: (minY + maxY) / 2, widthMm: 0 };
  let bestScore = Number.NEGATIVE_INFINITY;
  for (let k = 1; k <= 15; k++) {
    const y = minY + ((maxY - minY) * k) / 16;
    for (const [from, to] of commonStretches(rings, y - labelMm / 2, y + labelMm / 2)) {
      // Between equal widths the one nearer the middle looks right.
      const score = to - from - 0.35 * Math.abs(y - (minY + maxY) / 2);
      if (score <= bestScore) continue;
      bestScore = score;
      best = { x: (from + to) / 2, y, widthMm: to - from };
    }
  }
  return best;
}

/** Stretches of x that are inside both at the label's foot and at its head. */
function commonStretches(rings: readonly Ring[], low: number, high: number): [number, number][] {
  const a = stretches(rings, low);
  const b = stretches(rings, high);
  const both: [number, number][] = [];
  for (const [a0, a1] of a) {
    for (const [b0, b1] of b) {
      const from = Math.max(a0, b0);
      const to = Math.min(a1, b1);
      if (to > from) both.push([from, to]);
    }
  }
  return both.length > 0 ? both : stretches(rings, (low + high) / 2);
}

function stretches(rings: readonly Ring[], y: number): [number, number][] {
  const cuts: number[] = [];
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > y !== yj > y) cuts.push(((xj - xi) * (y - yi)) / (yj - yi) + xi);
    }
  }
  cuts.sort((p, q) => p - q);
  const out: [number, number][] = [];
  for (let i = 0; i + 1 < cuts.length; i += 2) out.push([cuts[i]!, cuts[i + 1]!]);
  return out;
}
