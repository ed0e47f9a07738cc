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
  const cos = Math.cos(angleRad);
  const sin = Math.sin(angleRad);
  const crossings = crossingsByLine(region, cos, sin, spacingMm, phase);
  const segments = crossings.u.length >> 1;
  const line = new Int32Array(segments);
  const u0 = new Float64Array(segments);
  const u1 = new Float64Array(segments);
  let s = 0;
  for (let k = 0; k < crossings.start.length - 1; k++) {
    for (let i = crossings.start[k]; i + 1 < crossings.start[k + 1]; i += 2) {
      line[s] = crossings.first + k;
      u0[s] = crossings.u[i];
      u1[s++] = crossings.u[i + 1];
    }
  }
  return { angleRad, spacingMm, phase, line: line.subarray(0, s), u0: u0.subarray(0, s), u1: u1.subarray(0, s) };
}

/** A hatch that knows which edge (by the index of its first point) each end lies on. */
export type EdgeHatch = Hatch & Readonly<{ edge0: Int32Array; edge1: Int32Array }>;

export function hatchWithEdges(region: Rings, angleRad: number, spacingMm: number, phase = 0.5): EdgeHatch {
  const frame = turnedFrame(region, Math.cos(angleRad), Math.sin(angleRad), spacingMm, phase);
  const found: { line: number; u: number; edge: number }[] = [];
  eachCrossing(region, frame.v, 0, (line, i, j) => {
    found.push({
      line,
      u: frame.u[i] + ((line - frame.v[i]) / (frame.v[j] - frame.v[i])) * (frame.u[j] - frame.u[i]),
      edge: i,
    });
  });
  found.sort((a, b) => a.line - b.line || a.u - b.u || a.edge - b.edge);
  const n = found.length >> 1;
  const line = new Int32Array(n);
  const [u0, u1] = [new Float64Array(n), new Float64Array(n)];
  const [edge0, edge1] = [new Int32Array(n), new Int32Array(n)];
  for (let k = 0; k < n; k++) {
    line[k] = found[2 * k].line;
    u0[k] = found[2 * k].u;
    u1[k] = found[2 * k + 1].u;
    edge0[k] = found[2 * k].edge;
    edge1[k] = found[2 * k + 1].edge;
  }
  return { angleRad, spacingMm, phase, line, u0, u1, edge0, edge1 };
}

type Crossings = Readonly<{ first: number; start: Uint32Array; u: Float64Array }>;

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
  if (v.length === 0) return { first: 0, start: new Uint32Array(1), u };
  const first = Math.ceil(low);
  const lines = Math.max(0, Math.floor(high) - first + 1);
  const start = new Uint32Array(lines + 1);
  eachCrossing(region, v, first, (k) => {
    start[k + 1]++;
  });
  for (let k = 0; k < lines; k++) start[k + 1] += start[k];
  const filled = start.slice();
  const out = new Float64Array(start[lines]);
  eachCrossing(region, v, first, (k, i, j) => {
    out[filled[k]++] = u[i] + ((k + first - v[i]) / (v[j] - v[i])) * (u[j] - u[i]);
  });
  for (let k = 0; k < lines; k++) sortPart(out, start[k], start[k + 1]);
  return { first, start, u: out };
}

/** Insertion sort: a line crosses few edges, and a view per line would cost more than sorting it. */
function sortPart(values: Float64Array, from: number, to: number): void {
  for (let i = from + 1; i < to; i++) {
    const value = values[i];
    let j = i - 1;
    for (; j >= from && values[j] > value; j--) values[j + 1] = values[j];
    values[j + 1] = value;
  }
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
