import type { BeadKind } from '@stonehand/model';

/** One bead before it has a place in the order: x, y pairs in mm; closed beads do not repeat their first point. */
export type Bead = Readonly<{ kind: BeadKind; closed: boolean; widthMm: number; xyMm: Float64Array }>;

export function beadLengthMm(bead: Bead): number {
  const xy = bead.xyMm;
  const n = xy.length;
  let sum = 0;
  for (let i = 2; i < n; i += 2) sum += Math.hypot(xy[i] - xy[i - 2], xy[i + 1] - xy[i - 1]);
  if (bead.closed && n >= 4) sum += Math.hypot(xy[0] - xy[n - 2], xy[1] - xy[n - 1]);
  return sum;
}
