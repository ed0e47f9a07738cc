import type { Mesh } from '@stonehand/model';

/**
 * How much steeper than the limit a face must be to count. A face modelled at exactly 45° has single-precision corners:
 * a facet of 1 mm some 100 mm from the origin leans by up to 8e-6 off. The limit itself needs no support.
 */
export const LIMIT_SLACK = 5e-6;
/** A face counts as lying on the plate when it lies whole within this share of the height from the lowest point. */
export const PLATE_SHARE = 1e-6;

/**
 * Area of the faces that hang over more than the limit, without those that lie on the plate.
 * @param rotation 9 numbers, row-major; the posed part's z is up
 * @param fromVerticalDeg 0 for a wall, 90 for a ceiling; faces at exactly the limit do not count
 * @returns mm²
 */
export function overhangAreaMm2(mesh: Mesh, rotation: readonly number[], fromVerticalDeg: number): number {
  const { positions, triangles } = mesh;
  const limit = Math.sin((fromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const [ux, uy, uz] = [rotation[6], rotation[7], rotation[8]];
  let low = Infinity;
  let high = -Infinity;
  for (let t = 0; t < triangles.length; t++) {
    const p = 3 * triangles[t];
    const z = ux * positions[p] + uy * positions[p + 1] + uz * positions[p + 2];
    if (z < low) low = z;
    if (z > high) high = z;
  }
  const plate = low + PLATE_SHARE * (high - low);
  let twice = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = 3 * triangles[t];
    const b = 3 * triangles[t + 1];
    const c = 3 * triangles[t + 2];
    const ax = positions[a];
    const ay = positions[a + 1];
    const az = positions[a + 2];
    const bx = positions[b] - ax;
    const by = positions[b + 1] - ay;
    const bz = positions[b + 2] - az;
    const cx = positions[c] - ax;
    const cy = positions[c + 1] - ay;
    const cz = positions[c + 2] - az;
    const nx = by * cz - bz * cy;
    const ny = bz * cx - bx * cz;
    const nz = bx * cy - by * cx;
    const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (-(nx * ux + ny * uy + nz * uz) <= limit * size) continue;
    const z = ux * ax + uy * ay + uz * az;
    if (z + Math.max(0, ux * bx + uy * by + uz * bz, ux * cx + uy * cy + uz * cz) > plate) twice += size;
  }
  return twice / 2;
}
