import type { Box, Mesh, Tensor, Vec3 } from '@stonehand/model';
import { boundingBox } from './bounding-box.ts';
import { KERNEL_FROM_TRIANGLES, type KernelOption } from './kernel.ts';
import { type BoxAndSums, boxAndSumsByKernel, middleOf, SUM_COUNT } from './mass-kernel.ts';

/** What the triangles enclose, for density 1. Signed: a mesh that is inside out has a negative volume and tensor. */
export type MassProperties = Readonly<{
  volumeMm3: number;
  areaMm2: number;
  boxMm: Box;
  /** absent when the volume is exactly 0 */
  centreMm?: Vec3;
  /** about the centre, at 1 g/mm³ in g·mm²; absent when the volume is exactly 0 */
  inertiaMm5?: Tensor;
  /** triangles without area in double precision, collapsed ones among them; and the first of them, or −1 */
  flatTriangles: number;
  firstFlat: number;
}>;

/**
 * Volume, area, centre and inertia by exact integrals over the tetrahedra from one point to each triangle.
 * Meaningful where the directions of all edges cancel (topology's volumeDefined); computed in any case.
 * The second moments of a tetrahedron with one corner at the point and volume v are v/20·(s·sᵀ + Σ pᵢ·pᵢᵀ), with s the sum of its
 * corners (for example Eberly, "Polyhedral Mass Properties (Revisited)", 2002, from memory).
 */
export function massProperties(mesh: Mesh, { kernel }: KernelOption = {}): MassProperties {
  const byKernel = kernel ?? mesh.triangles.length >= 3 * KERNEL_FROM_TRIANGLES;
  const { boxMm, sums } = (byKernel ? boxAndSumsByKernel(mesh) : undefined) ?? boxAndSums(mesh);
  const [mx, my, mz] = middleOf(boxMm);
  const sixVolume = sums[SIX_VOLUME];
  const common = {
    volumeMm3: sixVolume / 6,
    areaMm2: sums[TWICE_AREA] / 2,
    boxMm,
    flatTriangles: sums[FLAT],
    firstFlat: sums[FIRST_FLAT],
  };
  if (sixVolume === 0) return common;
  const v = sixVolume / 6;
  const cx = sums[X] / (4 * sixVolume);
  const cy = sums[Y] / (4 * sixVolume);
  const cz = sums[Z] / (4 * sixVolume);
  const xx = sums[XX] / 120 - v * cx * cx;
  const yy = sums[YY] / 120 - v * cy * cy;
  const zz = sums[ZZ] / 120 - v * cz * cz;
  return {
    ...common,
    centreMm: [cx + mx, cy + my, cz + mz],
    inertiaMm5: [
      yy + zz,
      xx + zz,
      xx + yy,
      -(sums[XY] / 120 - v * cx * cy),
      -(sums[YZ] / 120 - v * cy * cz),
      -(sums[ZX] / 120 - v * cz * cx),
    ],
  };
}

function boxAndSums(mesh: Mesh): BoxAndSums {
  const boxMm = boundingBox(mesh);
  const [mx, my, mz] = middleOf(boxMm);
  const [ox, oy, oz] = mesh.originMm;
  const sums = new Float64Array(SUM_COUNT);
  sums[FIRST_FLAT] = -1;
  addTetrahedra(mesh.positions, mesh.triangles, mx - ox, my - oy, mz - oz, sums);
  return { boxMm, sums };
}

const SIX_VOLUME = 0;
const TWICE_AREA = 1;
const X = 2;
const Y = 3;
const Z = 4;
const XX = 5;
const YY = 6;
const ZZ = 7;
const XY = 8;
const YZ = 9;
const ZX = 10;
const FLAT = 11;
const FIRST_FLAT = 12;

function addTetrahedra(
  positions: Float32Array | Float64Array,
  triangles: Uint32Array,
  ox: number,
  oy: number,
  oz: number,
  sums: Float64Array,
): void {
  let area = 0;
  let volume = 0;
  let x = 0;
  let y = 0;
  let z = 0;
  let xx = 0;
  let yy = 0;
  let zz = 0;
  let xy = 0;
  let yz = 0;
  let zx = 0;
  let flat = 0;
  let firstFlat = -1;
  for (let h = 0; h < triangles.length; h += 3) {
    const a = triangles[h] * 3;
    const b = triangles[h + 1] * 3;
    const c = triangles[h + 2] * 3;
    const ax = positions[a] - ox;
    const ay = positions[a + 1] - oy;
    const az = positions[a + 2] - oz;
    const bx = positions[b] - ox;
    const by = positions[b + 1] - oy;
    const bz = positions[b + 2] - oz;
    const cx = positions[c] - ox;
    const cy = positions[c + 1] - oy;
    const cz = positions[c + 2] - oz;
    const ux = positions[b] - positions[a];
    const uy = positions[b + 1] - positions[a + 1];
    const uz = positions[b + 2] - positions[a + 2];
    const vx = positions[c] - positions[a];
    const vy = positions[c + 1] - positions[a + 1];
    const vz = positions[c + 2] - positions[a + 2];
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const n2 = nx * nx + ny * ny + nz * nz;
    if (n2 === 0 && flat++ === 0) firstFlat = h / 3;
    area += Math.sqrt(n2);
    const d = ax * nx + ay * ny + az * nz; // six times the signed volume
    const sx = ax + bx + cx;
    const sy = ay + by + cy;
    const sz = az + bz + cz;
    volume += d;
    x += d * sx;
    y += d * sy;
    z += d * sz;
    xx += d * (sx * sx + ax * ax + bx * bx + cx * cx);
    yy += d * (sy * sy + ay * ay + by * by + cy * cy);
    zz += d * (sz * sz + az * az + bz * bz + cz * cz);
    xy += d * (sx * sy + ax * ay + bx * by + cx * cy);
    yz += d * (sy * sz + ay * az + by * bz + cy * cz);
    zx += d * (sz * sx + az * ax + bz * bx + cz * cx);
  }
  sums[SIX_VOLUME] = volume;
  sums[TWICE_AREA] = area;
  sums[X] = x;
  sums[Y] = y;
  sums[Z] = z;
  sums[XX] = xx;
  sums[YY] = yy;
  sums[ZZ] = zz;
  sums[XY] = xy;
  sums[YZ] = yz;
  sums[ZX] = zx;
  sums[FLAT] = flat;
  sums[FIRST_FLAT] = firstFlat;
}
