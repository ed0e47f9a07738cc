import { type Rings, ringCount } from './rings.ts';

/**
 * Parallel lines cut to a clean region, in a frame turned by angleRad: line k runs along u at the height v = (k + phase) · spacing.
 * Segment i lies on line[i] from u0[i] to u1[i]; sorted by line, then u.
 */
export type Hatch = Readonly<{
  angleRad: number;
  spacingMm: number;
  phase: number;
  line: Int32Array;
  u0: Float64Array;
  u1: Float64Array;
}>;

export function hatch(region: Rings, angleRad: number, spacingMm: number, phase = 0.5): Hatch {
  const { edge0: _, edge1: __, ...lines } = hatchWithEdges(region, angleRad, spacingMm, phase);
  return lines;
}

/** A hatch that knows which edge (by the index of its first point) each end lies on. */
export type EdgeHatch = Hatch & Readonly<{ edge0: Int32Array; edge1: Int32Array }>;

export function hatchWithEdges(region: Rings, angleRad: number, spacingMm: number, phase = 0.5): EdgeHatch {
  const { first, start, u, edge } = crossingsByLine(region, Math.cos(angleRad), Math.sin(angleRad), spacingMm, phase);
  const segments = u.length >> 1;
  const line = new Int32Array(segments);
  const [u0, u1] = [new Float64Array(segments), new Float64Array(segments)];
  const [edge0, edge1] = [new Int32Array(segments), new Int32Array(segments)];
  let s = 0;
  for (let k = 0; k < start.length - 1; k++) {
    for (let i = start[k]; i + 1 < start[k + 1]; i += 2) {
      line[s] = first + k;
      u0[s] = u[i];
      u1[s] = u[i + 1];
      edge0[s] = edge[i];
      edge1[s++] = edge[i + 1];
    }
  }
  const cut = { line: line.subarray(0, s), u0: u0.subarray(0, s), u1: u1.subarray(0, s) };
  return { angleRad, spacingMm, phase, ...cut, edge0: edge0.subarray(0, s), edge1: edge1.subarray(0, s) };
}

/** Line first + k is crossed at u[start[k]] … by the edges that begin at the points edge[…]. */
type Crossings = Readonly<{ first: number; start: Uint32Array; u: Float64Array; edge: Int32Array }>;

/** Points in the turned frame: u along the lines, v in spacings across them, with line k at v = k. */
function turnedFrame(
  region: Rings,
  cos: number,
  sin: number,
  spacingMm: number,
  phase: number,
): { u: Float64Array; v: Float64Array } {
  const n = region.xyMm.length / 2;
  const u = new Float64Array(n);
  const v = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const x = region.xyMm[2 * i];
    const y = region.xyMm[2 * i + 1];
    u[i] = x * cos + y * sin;
    v[i] = (y * cos - x * sin) / spacingMm - phase;
  }
  return { u, v };
}

/** Where edges cross lines: counted first, then filled and sorted line by line. A point on a line counts as above it. */
function crossingsByLine(region: Rings, cos: number, sin: number, spacingMm: number, phase: number): Crossings {
  const { u, v } = turnedFrame(region, cos, sin, spacingMm, phase);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < v.length; i++) {
    if (v[i] < low) low = v[i];
    if (v[i] > high) high = v[i];
  }
  if (v.length === 0) return { first: 0, start: new Uint32Array(1), u, edge: new Int32Array(0) };
  const first = Math.ceil(low);
  const lines = Math.max(0, Math.floor(high) - first + 1);
  const start = new Uint32Array(lines + 1);
  eachCrossing(region, v, first, (k) => {
    start[k + 1]++;
  });
  for (let k = 0; k < lines; k++) start[k + 1] += start[k];
  const filled = start.slice();
  const out = new Float64Array(start[lines]);
  const edge = new Int32Array(out.length);
  // Each is put in its place at once: a line crosses few edges, and a view per line would cost more than sorting it.
  eachCrossing(region, v, first, (k, i, j) => {
    const at = u[i] + ((k + first - v[i]) / (v[j] - v[i])) * (u[j] - u[i]);
    let to = filled[k]++;
    for (; to > start[k] && out[to - 1] > at; to--) {
      out[to] = out[to - 1];
      edge[to] = edge[to - 1];
    }
    out[to] = at;
    edge[to] = i;
  });
  return { first, start, u: out, edge };
}

function eachCrossing(
  region: Rings,
  v: Float64Array,
  first: number,
  visit: (line: number, i: number, j: number) => void,
): void {
  for (let r = 0; r < ringCount(region); r++) {
    const end = region.ringStart[r + 1];
    let i = end - 1;
    for (let j = region.ringStart[r]; j < end; i = j++) {
      const a = Math.min(v[i], v[j]);
      const b = Math.max(v[i], v[j]);
      // lines k with a < k ≤ b
      for (let k = Math.floor(a) + 1; k <= b; k++) visit(k - first, i, j);
    }
  }
}
