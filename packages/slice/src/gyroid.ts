import type { Rings } from './rings.ts';

/**
 * Mean length of the curves sin x cos y + sin y cos z + sin z cos x = 0 in a plane of constant z, per area, over one period
 * of z, in units of 1/period. Integrated numerically from gyroidLines (256 planes over one period, 20 steps a period); the isotropic value would
 * be π/4 · 3.0915 = 2.428 (surface per volume of the gyroid, from memory).
 */
export const GYROID_LENGTH = 2.4537;

/**
 * The gyroid's curves at a height, over the box, as open lines. Where |cos z| ≥ |sin z| each is y as a function of x, else x
 * as a function of y: there the equation a·sin(t + b) = c always has a solution.
 */
export function gyroidLines(box: readonly [number, number, number, number], zMm: number, periodMm: number): Rings {
  const turn = (2 * Math.PI) / periodMm;
  const sinZ = Math.sin(zMm * turn);
  const cosZ = Math.cos(zMm * turn);
  const alongX = Math.abs(cosZ) >= Math.abs(sinZ);
  const [from, low, to, high] = alongX ? box : [box[1], box[0], box[3], box[2]];
  const steps = Math.max(1, Math.ceil(((to - from) * 20) / periodMm));
  const xy: number[] = [];
  const ringStart = [0];
  const first = Math.floor((low * turn) / (2 * Math.PI)) - 2;
  const last = Math.ceil((high * turn) / (2 * Math.PI)) + 2;
  for (let k = first; k <= last; k++) {
    for (let branch = 0; branch < 2; branch++) {
      let inside = false;
      const start = xy.length;
      for (let i = 0; i <= steps; i++) {
        const s = from + ((to - from) * i) / steps;
        const t = (root(s * turn, sinZ, cosZ, alongX, branch) + 2 * Math.PI * k) / turn;
        inside ||= t >= low && t <= high;
        if (alongX) xy.push(s, t);
        else xy.push(t, s);
      }
      if (inside) ringStart.push(xy.length / 2);
      else xy.length = start;
    }
  }
  return { xyMm: Float64Array.from(xy), ringStart: Uint32Array.from(ringStart) };
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
