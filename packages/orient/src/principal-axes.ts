import type { Vec3 } from '@stonehand/model';
import type { SurfaceSamples } from './surface-samples.ts';

/**
 * Three axes that turn with the surface, row-major: those of its second moments, each towards the side on which the surface
 * reaches farther (third moment), the last by the right hand. Directions spread over the sphere in these axes are the same ones
 * however the part was modelled. Where two moments are equal the axes are some of the possible ones.
 */
export function principalAxes({ count, x, y, z }: SurfaceSamples): readonly [Vec3, Vec3, Vec3] {
  let [cx, cy, cz] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    cx += x[i] / count;
    cy += y[i] / count;
    cz += z[i] / count;
  }
  const m = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < count; i++) {
    const d = [x[i] - cx, y[i] - cy, z[i] - cz];
    for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) m[3 * r + c] += d[r] * d[c];
  }
  const axes = eigenvectors(m);
  const pointed = axes.map((a): Vec3 => {
    let third = 0;
    for (let i = 0; i < count; i++) third += (a[0] * (x[i] - cx) + a[1] * (y[i] - cy) + a[2] * (z[i] - cz)) ** 3;
    return third < 0 ? [-a[0], -a[1], -a[2]] : a;
  });
  const [a, b] = pointed;
  return [a, b, [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]];
}

/** Of a symmetric 3 × 3 matrix, largest value first. Jacobi's method (from memory): each turn clears one element off the diagonal. */
function eigenvectors(symmetric: readonly number[]): Vec3[] {
  const m = [...symmetric];
  const v = [1, 0, 0, 0, 1, 0, 0, 0, 1];
  const pairs = [
    [0, 1],
    [0, 2],
    [1, 2],
  ] as const;
  for (let sweep = 0; sweep < 12; sweep++) {
    for (const [p, q] of pairs) {
      const off = m[3 * p + q];
      if (off === 0) continue;
      const theta = (m[3 * q + q] - m[3 * p + p]) / (2 * off);
      const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
      const c = 1 / Math.sqrt(t * t + 1);
      const s = t * c;
      for (let k = 0; k < 3; k++) {
        const [a, b] = [m[3 * k + p], m[3 * k + q]];
        m[3 * k + p] = c * a - s * b;
        m[3 * k + q] = s * a + c * b;
      }
      for (let k = 0; k < 3; k++) {
        const [a, b] = [m[3 * p + k], m[3 * q + k]];
        m[3 * p + k] = c * a - s * b;
        m[3 * q + k] = s * a + c * b;
      }
      for (let k = 0; k < 3; k++) {
        const [a, b] = [v[3 * k + p], v[3 * k + q]];
        v[3 * k + p] = c * a - s * b;
        v[3 * k + q] = s * a + c * b;
      }
    }
  }
  return [0, 1, 2].sort((i, j) => m[4 * j] - m[4 * i]).map((k): Vec3 => [v[k], v[3 + k], v[6 + k]]);
}
