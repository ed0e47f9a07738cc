import type { Ring, Vec2 } from '@stonehand/model';
import type { Bed } from './parse-bed.ts';

/**
 * Sides of the polygon that stands for a round bed. It is inscribed, so a piece inside it is inside the circle; at
 * 250 mm the polygon lies at most R·(1 − cos(π/96)) = 0.07 mm inside the circle.
 */
const ROUND_SIDES = 96;
// A vertex computed on the circle may lie an ulp outside; this is 0.1 nm at 100 mm.
const INSIDE = 1 - 1e-12;

/** Outline of the build plate, origin at the front left of its box. */
export function plateRing(bed: Bed): Ring {
  return insetRing(bed, 0);
}

/** Where pieces may lie: the plate less the margin. Empty when the margin leaves nothing. */
export function usableRing(bed: Bed, marginMm: number): Ring {
  return insetRing(bed, marginMm);
}

/** Width and depth of the plate's box. */
export function plateSize(bed: Bed): Vec2 {
  return bed.shape === 'round' ? [bed.diameterMm, bed.diameterMm] : [bed.widthMm, bed.depthMm];
}

function insetRing(bed: Bed, marginMm: number): Ring {
  const [width, depth] = plateSize(bed);
  if (2 * marginMm >= Math.min(width, depth)) return [];
  if (bed.shape === 'rectangle') {
    const [left, front, right, back] = [marginMm, marginMm, width - marginMm, depth - marginMm];
    return [
      [left, front],
      [right, front],
      [right, back],
      [left, back],
    ];
  }
  const centre = bed.diameterMm / 2;
  const radius = (centre - marginMm) * INSIDE;
  return Array.from({ length: ROUND_SIDES }, (_, i): Vec2 => {
    const angle = (2 * Math.PI * i) / ROUND_SIDES;
    return [centre + radius * Math.cos(angle), centre + radius * Math.sin(angle)];
  });
}
