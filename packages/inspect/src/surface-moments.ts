import type { Mesh, Vec3 } from '@stonehand/model';
import { symmetricEigen } from './symmetric-eigen.ts';

/** What a surface weighs as a skin of even thickness: defined for open meshes too, and the same however flats are divided into triangles. */
export type SurfaceMoments = Readonly<{
  areaMm2: number;
  /** in the coordinates of positions, without originMm */
  centre: Vec3;
  /** second moments about the centre over the area, rising, mm² */
  spread: readonly number[];
  /** unit axes of those moments, a row each */
  axes: readonly (readonly number[])[];
}>;

export function surfaceMoments({ positions: p, triangles: t }: Mesh): SurfaceMoments {
  let area = 0;
  const first = [0, 0, 0];
  const areas = new Float64Array(t.length / 3);
  for (let k = 0; k < t.length; k += 3) {
    const s = triangleArea(p, 3 * t[k], 3 * t[k + 1], 3 * t[k + 2]);
    areas[k / 3] = s;
    area += s;
    for (let i = 0; i < 3; i++) first[i] += (s * (p[3 * t[k] + i] + p[3 * t[k + 1] + i] + p[3 * t[k + 2] + i])) / 3;
  }
  const c = area > 0 ? first.map((v) => v / area) : [0, 0, 0];
  const m = new Float64Array(9);
  for (let k = 0; k < t.length; k += 3) {
    // ∫ x xᵀ over a triangle = A/12 · (Σ pᵢ pᵢᵀ + s sᵀ), with s the sum of its corners.
    const w = areas[k / 3] / 12;
    for (let i = 0; i < 3; i++) {
      for (let j = i; j < 3; j++) {
        let sum = 0;
        let si = 0;
        let sj = 0;
        for (let corner = 0; corner < 3; corner++) {
          const a = p[3 * t[k + corner] + i] - c[i];
          const b = p[3 * t[k + corner] + j] - c[j];
          sum += a * b;
          si += a;
          sj += b;
        }
        m[3 * i + j] += w * (sum + si * sj);
      }
    }
  }
  m[3] = m[1];
  m[6] = m[2];
  m[7] = m[5];
  const { values, vectors } = symmetricEigen(
    Array.from(m, (v) => (area > 0 ? v / area : 0)),
    3,
  );
  return { areaMm2: area, centre: [c[0], c[1], c[2]], spread: values, axes: vectors };
}

export function surfaceArea({ positions, triangles: t }: Mesh): number {
  let area = 0;
  for (let k = 0; k < t.length; k += 3) area += triangleArea(positions, 3 * t[k], 3 * t[k + 1], 3 * t[k + 2]);
  return area;
}

export function triangleArea(p: Float32Array | Float64Array, a: number, b: number, c: number): number {
  const ux = p[b] - p[a];
  const uy = p[b + 1] - p[a + 1];
  const uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a];
  const vy = p[c + 1] - p[a + 1];
  const vz = p[c + 2] - p[a + 2];
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
}
