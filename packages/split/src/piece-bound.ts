import { massProperties } from '@stonehand/mesh';
import type { Mesh, Ring } from '@stonehand/model';
import { type Bed, type Corners, farthestCorners } from './fits.ts';

/**
 * No way of cutting makes fewer pieces: the volume shared out to full build volumes, and the longest distance in the part
 * shared out to the longest rod that a build volume holds. Proven, often far below what is possible.
 */
export function pieceBound(mesh: Mesh, corners: Corners, beds: readonly Bed[]): number {
  let volumeMm3 = 0;
  let rodMm = 0;
  for (const bed of beds) {
    volumeMm3 = Math.max(volumeMm3, ringAreaMm2(bed.usable) * bed.heightMm);
    rodMm = Math.max(rodMm, Math.hypot(ringDiameterMm(bed.usable), bed.heightMm));
  }
  const [a, b] = farthestCorners(corners);
  const length = Math.hypot(
    corners[3 * a] - corners[3 * b],
    corners[3 * a + 1] - corners[3 * b + 1],
    corners[3 * a + 2] - corners[3 * b + 2],
  );
  // A hair less than the quotient, so that rounding never claims a piece too many.
  const share = Math.max(massProperties(mesh).volumeMm3 / volumeMm3, length / rodMm) * (1 - 1e-9);
  return Math.max(1, Math.ceil(share));
}

function ringAreaMm2(ring: Ring): number {
  let twice = 0;
  for (let i = 0; i < ring.length; i++) {
    const [ax, ay] = ring[i];
    const [bx, by] = ring[(i + 1) % ring.length];
    twice += ax * by - bx * ay;
  }
  return Math.abs(twice) / 2;
}

function ringDiameterMm(ring: Ring): number {
  let best = 0;
  for (const [ax, ay] of ring) for (const [bx, by] of ring) best = Math.max(best, Math.hypot(ax - bx, ay - by));
  return best;
}
