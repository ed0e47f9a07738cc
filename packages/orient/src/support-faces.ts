import type { Mesh } from '@stonehand/model';
import { LIMIT_SLACK, PLATE_SHARE } from './overhang-area.ts';

/** A part in its pose, turned about z to the sampling grid, box minimum at 0, with the faces that need support. */
export type SupportFaces = Readonly<{
  xyz: Float64Array;
  widthMm: number;
  depthMm: number;
  heightMm: number;
  /** 1 for a face that needs support, 2 for one that does and is level (a ceiling), 0 for others */
  needs: Uint8Array;
  ceilings: boolean;
  /** area beyond the limit without what lies on the plate, as overhangAreaMm2 gives it */
  overhangMm2: number;
  /** area of the faces that lie on the plate */
  plateMm2: number;
}>;

// The golden slope is the hardest to approximate by fractions, so a straight edge at it crosses grid cells most evenly.
const GRID_RAD = Math.atan((Math.sqrt(5) - 1) / 2);
/** Level enough for a bridge: within 1° (common practice, no source: a bead sags more than that). */
const LEVEL = Math.cos(Math.PI / 180);
/** Lying on the plate: within half a degree. */
const FLAT = Math.cos((0.5 * Math.PI) / 180);

export function supportFaces(
  mesh: Mesh,
  rotation: readonly number[],
  fromVerticalDeg: number,
  leastGapMm: number,
  gridRad: number = GRID_RAD,
): SupportFaces {
  const { triangles } = mesh;
  const xyz = turnedToGrid(mesh, rotation, gridRad);
  const limit = Math.sin((fromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const onPlateMm = PLATE_SHARE * xyz.heightMm;
  const lowMm = Math.max(leastGapMm, onPlateMm);
  const needs = new Uint8Array(triangles.length / 3);
  const p = xyz.xyz;
  let ceilings = false;
  let overhang = 0;
  let plate = 0;
  for (let t = 0; t < needs.length; t++) {
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const bx = p[b] - p[a];
    const by = p[b + 1] - p[a + 1];
    const cx = p[c] - p[a];
    const cy = p[c + 1] - p[a + 1];
    const nz = bx * cy - by * cx;
    if (nz >= 0) continue;
    const bz = p[b + 2] - p[a + 2];
    const cz = p[c + 2] - p[a + 2];
    const nx = by * cz - bz * cy;
    const ny = bz * cx - bx * cz;
    const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (-nz <= limit * size) continue;
    const az = p[a + 2];
    const high = az + Math.max(0, bz, cz);
    if (high > onPlateMm) overhang += size;
    if (high <= lowMm) {
      if (-nz >= FLAT * size) plate += size;
      continue;
    }
    const level = -nz >= LEVEL * size;
    needs[t] = level ? 2 : 1;
    if (level) ceilings = true;
  }
  return { ...xyz, needs, ceilings, overhangMm2: overhang / 2, plateMm2: plate / 2 };
}

function turnedToGrid(
  mesh: Mesh,
  r: readonly number[],
  gridRad: number,
): Readonly<{ xyz: Float64Array; widthMm: number; depthMm: number; heightMm: number }> {
  const p = mesh.positions;
  const c = Math.cos(gridRad);
  const s = Math.sin(gridRad);
  const [m0, m1, m2] = [c * r[0] - s * r[3], c * r[1] - s * r[4], c * r[2] - s * r[5]];
  const [m3, m4, m5] = [s * r[0] + c * r[3], s * r[1] + c * r[4], s * r[2] + c * r[5]];
  const [m6, m7, m8] = [r[6], r[7], r[8]];
  const xyz = new Float64Array(p.length);
  let lowX = Infinity;
  let lowY = Infinity;
  let lowZ = Infinity;
  let highX = -Infinity;
  let highY = -Infinity;
  let highZ = -Infinity;
  for (let i = 0; i < p.length; i += 3) {
    const px = p[i];
    const py = p[i + 1];
    const pz = p[i + 2];
    const x = m0 * px + m1 * py + m2 * pz;
    const y = m3 * px + m4 * py + m5 * pz;
    const z = m6 * px + m7 * py + m8 * pz;
    xyz[i] = x;
    xyz[i + 1] = y;
    xyz[i + 2] = z;
    if (x < lowX) lowX = x;
    if (x > highX) highX = x;
    if (y < lowY) lowY = y;
    if (y > highY) highY = y;
    if (z < lowZ) lowZ = z;
    if (z > highZ) highZ = z;
  }
  for (let i = 0; i < xyz.length; i += 3) {
    xyz[i] -= lowX;
    xyz[i + 1] -= lowY;
    xyz[i + 2] -= lowZ;
  }
  return { xyz, widthMm: highX - lowX, depthMm: highY - lowY, heightMm: highZ - lowZ };
}
