import type { Vec3 } from '@stonehand/model';

/** Directions nearer than this to an axis are that axis: 0.03 mm over 300 mm, a tenth of a layer. */
export const AXIS_RAD = 1e-4;

/**
 * A turn that brings `down` to −z, by the shortest way; row-major. Axes come out as whole numbers without −0. x stays as
 * near to x as it can.
 * @param down unit vector in mesh coordinates
 */
export function rotationFor(down: Vec3): number[] {
  const d = snapped(down);
  const up: Vec3 = [-d[0], -d[1], -d[2]];
  // The shortest turn about the axis up × z; upside down it has no axis, and y is taken so that x stays in its plane.
  const seed: Vec3 =
    up[2] > -1 + 1e-9 ? [1 - (up[0] * up[0]) / (1 + up[2]), (-up[0] * up[1]) / (1 + up[2]), -up[0]] : [-1, 0, 0];
  const along = seed[0] * up[0] + seed[1] * up[1] + seed[2] * up[2];
  const x = unit([seed[0] - along * up[0], seed[1] - along * up[1], seed[2] - along * up[2]]);
  const y = cross(up, x);
  return clean([...x, ...y, ...up]);
}

/** The rotation followed by a turn about z; quarter turns are exact. */
export function turnedAboutZ(r: readonly number[], rad: number): number[] {
  const quarter = rad / (Math.PI / 2);
  const whole = Math.round(quarter);
  const exact = Math.abs(quarter - whole) < 1e-12;
  const c = exact ? [1, 0, -1, 0][((whole % 4) + 4) % 4] : Math.cos(rad);
  const s = exact ? [0, 1, 0, -1][((whole % 4) + 4) % 4] : Math.sin(rad);
  const x: Vec3 = [c * r[0] - s * r[3], c * r[1] - s * r[4], c * r[2] - s * r[5]];
  const up: Vec3 = [r[6], r[7], r[8]];
  const u = exact ? x : unit(x);
  return clean([...u, ...cross(up, u), ...up]);
}

function snapped(d: Vec3): Vec3 {
  const u = unit(d);
  for (let k = 0; k < 3; k++) {
    if (Math.hypot(u[(k + 1) % 3], u[(k + 2) % 3]) < AXIS_RAD) {
      const axis: [number, number, number] = [0, 0, 0];
      axis[k] = Math.sign(u[k]);
      return axis;
    }
  }
  return u;
}

export function unit(v: Vec3): Vec3 {
  const size = Math.hypot(v[0], v[1], v[2]);
  return [v[0] / size, v[1] / size, v[2] / size];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

/** 0 instead of −0, so that equal rotations have equal JSON. */
function clean(r: readonly number[]): number[] {
  return r.map((v) => v + 0);
}
