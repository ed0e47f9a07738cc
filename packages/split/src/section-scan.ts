import type { Mesh, Vec3 } from '@stonehand/model';
import { planeFrame } from './plane.ts';

/** What parallel planes meet of a mesh, without tracing loops: one entry for each offset. */
export type SectionScan = Readonly<{
  offsetsMm: Float64Array;
  areaMm2: Float64Array;
  /** all of the outline, inside and outside */
  lineMm: Float64Array;
  /** of it what faces away from the middle of the part: what is seen from outside, roughly */
  seenMm: Float64Array;
  /** of it what faces the side to show */
  shownMm: Float64Array;
  /** length-weighted moments of the outline in the plane's frame about the middle: 1 x y xx xy yy xxx xxy xyy yyy */
  moments: Float64Array;
}>;

export const MOMENTS = 10;
/** A face that leans less than about 70° away from the side to show is seen from there; a choice, no source. */
const SHOWN_COSINE = 0.35;

/**
 * Sections at evenly spaced offsets, all in one pass over the triangles.
 * @param firstMm, stepMm, count the offsets along the normal, in the part's coordinates
 * @param middle a point inside the part, to tell outside from inside
 */
export function scanSections(
  mesh: Mesh,
  normal: Vec3,
  { firstMm, stepMm, count }: Readonly<{ firstMm: number; stepMm: number; count: number }>,
  middle: Vec3,
  showSide?: Vec3,
): SectionScan {
  const { positions: p, triangles, originMm } = mesh;
  const [u, v] = planeFrame(normal);
  const [nx, ny, nz] = normal;
  const [ux, uy, uz] = u;
  const [vx, vy, vz] = v;
  const [mx, my, mz] = [middle[0] - originMm[0], middle[1] - originMm[1], middle[2] - originMm[2]];
  const [sx, sy, sz] = showSide ?? [0, 0, 0];
  const vertices = p.length / 3;
  const along = new Float64Array(vertices);
  const across = new Float64Array(2 * vertices);
  const shiftMm = nx * originMm[0] + ny * originMm[1] + nz * originMm[2];
  for (let i = 0; i < vertices; i++) {
    const x = p[3 * i];
    const y = p[3 * i + 1];
    const z = p[3 * i + 2];
    along[i] = nx * x + ny * y + nz * z + shiftMm;
    across[2 * i] = ux * (x - mx) + uy * (y - my) + uz * (z - mz);
    across[2 * i + 1] = vx * (x - mx) + vy * (y - my) + vz * (z - mz);
  }
  const scan = {
    offsetsMm: Float64Array.from({ length: count }, (_, i) => firstMm + i * stepMm),
    areaMm2: new Float64Array(count),
    lineMm: new Float64Array(count),
    seenMm: new Float64Array(count),
    shownMm: new Float64Array(count),
    moments: new Float64Array(MOMENTS * count),
  };
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t];
    const b = triangles[t + 1];
    const c = triangles[t + 2];
    const low = Math.min(along[a], along[b], along[c]);
    const high = Math.max(along[a], along[b], along[c]);
    const from = Math.max(0, Math.ceil((low - firstMm) / stepMm));
    const to = Math.min(count - 1, Math.floor((high - firstMm) / stepMm));
    if (from > to) continue;
    let shown = -1;
    for (let i = from; i <= to; i++) {
      const at = firstMm + i * stepMm;
      let entersX = 0;
      let entersY = 0;
      let leavesX = 0;
      let leavesY = 0;
      let ends = 0;
      for (let k = 0; k < 3; k++) {
        const f = triangles[t + k];
        const g = triangles[t + (k === 2 ? 0 : k + 1)];
        const df = along[f] - at;
        const dg = along[g] - at;
        if (df >= 0 === dg >= 0) continue;
        const share = df / (df - dg);
        const x = across[2 * f] + share * (across[2 * g] - across[2 * f]);
        const y = across[2 * f + 1] + share * (across[2 * g + 1] - across[2 * f + 1]);
        if (df >= 0) {
          entersX = x;
          entersY = y;
        } else {
          leavesX = x;
          leavesY = y;
        }
        ends++;
      }
      if (ends !== 2) continue;
      const dx = leavesX - entersX;
      const dy = leavesY - entersY;
      const length = Math.sqrt(dx * dx + dy * dy);
      const x = (entersX + leavesX) / 2;
      const y = (entersY + leavesY) / 2;
      scan.lineMm[i] += length;
      scan.areaMm2[i] += (entersX * leavesY - leavesX * entersY) / 2;
      // Material lies to the left of the walk, so the outside is to the right: (dy, −dx).
      if (dy * x - dx * y > 0) scan.seenMm[i] += length;
      if (showSide !== undefined) {
        if (shown < 0) shown = facesSide(p, a, b, c, sx, sy, sz) ? 1 : 0;
        if (shown === 1) scan.shownMm[i] += length;
      }
      // Simpson's rule is exact up to the third order, however the outline is divided into segments.
      addMoments(scan.moments, MOMENTS * i, length / 6, entersX, entersY);
      addMoments(scan.moments, MOMENTS * i, (4 * length) / 6, x, y);
      addMoments(scan.moments, MOMENTS * i, length / 6, leavesX, leavesY);
    }
  }
  return scan;
}

function addMoments(m: Float64Array, at: number, length: number, x: number, y: number): void {
  m[at] += length;
  m[at + 1] += length * x;
  m[at + 2] += length * y;
  m[at + 3] += length * x * x;
  m[at + 4] += length * x * y;
  m[at + 5] += length * y * y;
  m[at + 6] += length * x * x * x;
  m[at + 7] += length * x * x * y;
  m[at + 8] += length * x * y * y;
  m[at + 9] += length * y * y * y;
}

function facesSide(p: ArrayLike<number>, a: number, b: number, c: number, sx: number, sy: number, sz: number): boolean {
  const bx = p[3 * b] - p[3 * a];
  const by = p[3 * b + 1] - p[3 * a + 1];
  const bz = p[3 * b + 2] - p[3 * a + 2];
  const cx = p[3 * c] - p[3 * a];
  const cy = p[3 * c + 1] - p[3 * a + 1];
  const cz = p[3 * c + 2] - p[3 * a + 2];
  const nx = by * cz - bz * cy;
  const ny = bz * cx - bx * cz;
  const nz = bx * cy - by * cx;
  return nx * sx + ny * sy + nz * sz > SHOWN_COSINE * Math.sqrt(nx * nx + ny * ny + nz * nz);
}
