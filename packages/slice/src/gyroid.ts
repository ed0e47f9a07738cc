import { type Rings, ringCount } from './rings.ts';

/**
 * Mean length of the curves sin x cos y + sin y cos z + sin z cos x = 0 in a plane of constant z, per area, over one period
 * of z, in units of 1/period. Integrated numerically (256 planes over one period, 20 steps a period); the isotropic value would
 * be π/4 · 3.0915 = 2.428 (surface per volume of the gyroid, from memory).
 */
export const GYROID_LENGTH = 2.4537;

/** Lengths in planes a 64th of a period apart, as shares of GYROID_LENGTH. */
const PLANES = 64;
let shares: Float64Array | undefined;

/** Length of the curves in the plane at zMm over their mean length, for areas of many periods. */
export function gyroidShare(zMm: number, periodMm: number): number {
  shares ??= planeShares();
  const turns = zMm / periodMm;
  const at = (turns - Math.floor(turns)) * PLANES;
  const k = Math.floor(at);
  return shares[k] + (at - k) * (shares[k + 1] - shares[k]);
}

function planeShares(): Float64Array {
  // Four periods a side, so that the ends of the curves at its edges do not matter.
  const side = 4;
  const square = { xyMm: Float64Array.of(0, 0, side, 0, side, side, 0, side), ringStart: Uint32Array.of(0, 4) };
  return Float64Array.from({ length: PLANES + 1 }, (_, k) => {
    let length = 0;
    for (const xy of gyroidInside(square, k / PLANES, 1)) {
      for (let i = 2; i < xy.length; i += 2) length += Math.hypot(xy[i] - xy[i - 2], xy[i + 1] - xy[i - 1]);
    }
    return length / (side * side * GYROID_LENGTH);
  });
}

const STEPS_PER_PERIOD = 20;

/**
 * The gyroid's curves at a height, cut to a clean region: open lines. Where |cos z| ≥ |sin z| each curve is y as a function of x, else x
 * as a function of y: there the equation a·sin(t + b) = c always has a solution. All curves have their points at the same
 * steps of s, and those of one branch differ by whole periods in t, so the curves that an edge of the region meets
 * are known without a search: time grows with the edges and with what is inside.
 */
export function gyroidInside(region: Rings, zMm: number, periodMm: number): Float64Array[] {
  if (ringCount(region) === 0) return [];
  const turn = (2 * Math.PI) / periodMm;
  const sinZ = Math.sin(zMm * turn);
  const cosZ = Math.cos(zMm * turn);
  const alongX = Math.abs(cosZ) >= Math.abs(sinZ);
  const curves = curvesOver(region, alongX, periodMm, (s, branch) => root(s * turn, sinZ, cosZ, alongX, branch) / turn);
  return piecesOf(curves, crossingsOf(region, curves));
}

/** Curve 2·(k − firstK) + b passes through t = base[b][i] + k·periodMm at s = (firstStep + i)·stepMm. */
type Curves = Readonly<{
  alongX: boolean;
  stepMm: number;
  firstStep: number;
  steps: number;
  periodMm: number;
  firstK: number;
  base: readonly [Float64Array, Float64Array];
}>;

function curvesOver(
  region: Rings,
  alongX: boolean,
  periodMm: number,
  tOf: (s: number, branch: number) => number,
): Curves {
  const { xyMm: xy } = region;
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  let low = Number.POSITIVE_INFINITY;
  for (let i = 0; i < xy.length; i += 2) {
    const s = alongX ? xy[i] : xy[i + 1];
    const t = alongX ? xy[i + 1] : xy[i];
    if (s < from) from = s;
    if (s > to) to = s;
    if (t < low) low = t;
  }
  const stepMm = periodMm / STEPS_PER_PERIOD;
  // One step beyond the region at both ends: every curve begins and ends outside.
  const firstStep = Math.floor(from / stepMm) - 1;
  const steps = Math.ceil(to / stepMm) + 1 - firstStep;
  const base: [Float64Array, Float64Array] = [new Float64Array(steps + 1), new Float64Array(steps + 1)];
  let highest = Number.NEGATIVE_INFINITY;
  for (const branch of [0, 1] as const) {
    for (let i = 0; i <= steps; i++) {
      base[branch][i] = tOf((firstStep + i) * stepMm, branch);
      if (base[branch][i] > highest) highest = base[branch][i];
    }
  }
  return { alongX, stepMm, firstStep, steps, periodMm, firstK: Math.floor((low - highest) / periodMm) - 1, base };
}

/**
 * Where edges of the region cross the curves, ascending: curve · (steps + 1) + steps from its start. Points exactly on an edge or corners
 * exactly on a curve count to one side for both neighbours, so that crossings come in pairs.
 */
function crossingsOf(region: Rings, curves: Curves): Float64Array {
  const { xyMm: xy, ringStart } = region;
  const { alongX, stepMm, firstStep, steps, periodMm, firstK, base } = curves;
  const ds = alongX ? 0 : 1;
  let found = new Float64Array(1024);
  let count = 0;
  for (let r = 0; r < ringStart.length - 1; r++) {
    const end = ringStart[r + 1];
    let ps = xy[2 * (end - 1) + ds];
    let pt = xy[2 * (end - 1) + 1 - ds];
    for (let j = ringStart[r]; j < end; j++) {
      const qs = xy[2 * j + ds];
      const qt = xy[2 * j + 1 - ds];
      const es = qs - ps;
      const et = qt - pt;
      const i0 = Math.floor(Math.min(ps, qs) / stepMm - 1e-9) - firstStep;
      const i1 = Math.floor(Math.max(ps, qs) / stepMm + 1e-9) - firstStep;
      for (let i = i0; i <= i1; i++) {
        const s = (firstStep + i) * stepMm;
        // The edge's own span of t within this step, a little wide.
        let ta = pt;
        let tb = qt;
        if (i1 > i0 && es !== 0) {
          const at0 = pt + ((s - ps) / es) * et;
          const at1 = pt + ((s + stepMm - ps) / es) * et;
          ta = Math.max(Math.min(at0, at1), Math.min(pt, qt));
          tb = Math.min(Math.max(at0, at1), Math.max(pt, qt));
        }
        const tLow = Math.min(ta, tb) - 1e-9;
        const tHigh = Math.max(ta, tb) + 1e-9;
        for (let branch = 0; branch < 2; branch++) {
          const b0 = base[branch][i];
          const b1 = base[branch][i + 1];
          const kEnd = Math.floor((tHigh - Math.min(b0, b1)) / periodMm);
          for (let k = Math.ceil((tLow - Math.max(b0, b1)) / periodMm); k <= kEnd; k++) {
            const at = b0 + k * periodMm;
            const climb = b1 - b0;
            const sideP = stepMm * (pt - at) - climb * (ps - s);
            const sideQ = stepMm * (qt - at) - climb * (qs - s);
            if (sideP >= 0 === sideQ >= 0) continue;
            const sideA = es * (at - pt) - et * (s - ps);
            const sideB = es * (b1 + k * periodMm - pt) - et * (s + stepMm - ps);
            if (sideA >= 0 === sideB >= 0) continue;
            if (count === found.length) {
              const larger = new Float64Array(2 * count);
              larger.set(found);
              found = larger;
            }
            found[count++] = (2 * (k - firstK) + branch) * (steps + 1) + i + sideA / (sideA - sideB);
          }
        }
      }
      ps = qs;
      pt = qt;
    }
  }
  return found.subarray(0, count).sort();
}

/** What lies between the first and second, third and fourth … crossing of each curve. */
function piecesOf(curves: Curves, crossings: Float64Array): Float64Array[] {
  const { alongX, stepMm, firstStep, steps, periodMm, firstK, base } = curves;
  const pieces: Float64Array[] = [];
  const stride = steps + 1;
  for (let c = 0; c + 1 < crossings.length; ) {
    const curve = Math.floor(crossings[c] / stride);
    if (crossings[c + 1] >= (curve + 1) * stride) {
      // A crossing without a partner: rounding at a corner. The stray one goes.
      c++;
      continue;
    }
    const from = crossings[c] - curve * stride;
    const to = crossings[c + 1] - curve * stride;
    c += 2;
    if (to - from < 1e-6) continue;
    const t = base[curve & 1];
    const offset = ((curve >> 1) + firstK) * periodMm;
    const first = Math.floor(from) + 1;
    const last = Math.ceil(to) - 1;
    const xy = new Float64Array(2 * (last - first + 3));
    const a = alongX ? 0 : 1;
    for (let n = 0; 2 * n < xy.length; n++) {
      const i = n === 0 ? from : first + n - 1 > last ? to : first + n - 1;
      const whole = Math.min(Math.floor(i), steps - 1);
      xy[2 * n + a] = (firstStep + i) * stepMm;
      xy[2 * n + 1 - a] = t[whole] + (i - whole) * (t[whole + 1] - t[whole]) + offset;
    }
    pieces.push(xy);
  }
  return pieces;
}

/** One of the two solutions t of the equation at s; both change steadily with s. */
function root(s: number, sinZ: number, cosZ: number, alongX: boolean, branch: number): number {
  // along x: cosZ·sin t + sin s·cos t = −sinZ·cos s; along y: cos s·sin t + sinZ·cos t = −cosZ·sin s
  // With p > 0 in the first case (and q of one sign in the second) the angle below never jumps by a turn.
  const sign = alongX && cosZ < 0 ? -1 : 1;
  const p = alongX ? sign * cosZ : Math.cos(s);
  const q = alongX ? sign * Math.sin(s) : sinZ;
  const c = alongX ? -sign * sinZ * Math.cos(s) : -cosZ * Math.sin(s);
  const shift = Math.atan2(q, p);
  const arc = Math.asin(Math.max(-1, Math.min(1, c / Math.hypot(p, q))));
  return branch === 0 ? arc - shift : Math.PI - arc - shift;
}
