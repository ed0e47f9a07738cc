import type { BeadKind } from '@stonehand/model';
import { beadWidthMm } from './bead-section.ts';
import type { Bead } from './beads.ts';
import { centreLines } from './centre-lines.ts';
import { islandsOf } from './islands.ts';
import type { BeadSize } from './perimeters.ts';
import type { Polygons } from './polygons.ts';
import { type Rings, ringCount, ringsAreaMm2, ringsLengthMm } from './rings.ts';

/** Gaps thinner than this share of a spacing stay empty: no nozzle lays a bead of a third of its width (common practice, no source). */
const LEAST_SHARE = 0.3;

/**
 * Single beads along the middle of places that are too thin for a pair. Each connected place gets one width, such that its
 * beads fill its area.
 */
export function thinBeads(thin: Rings, kind: BeadKind, size: BeadSize, polygons: Polygons): Bead[] {
  if (ringCount(thin) === 0) return [];
  const halfLeastMm = (LEAST_SHARE * size.spacingMm) / 2;
  const wide = polygons.offset(polygons.offset(thin, -halfLeastMm), halfLeastMm);
  const beads: Bead[] = [];
  for (const place of islandsOf(wide)) {
    const areaMm2 = ringsAreaMm2(place);
    if (areaMm2 < LEAST_SHARE * size.spacingMm * size.spacingMm) continue;
    const meanMm = (2 * areaMm2) / ringsLengthMm(place);
    const lines = centreLines(place, meanMm, polygons);
    let lengthMm = 0;
    for (const line of lines) lengthMm += lineLength(line.xyMm, line.closed);
    if (lengthMm === 0) continue;
    const section = Math.min((areaMm2 / lengthMm) * size.heightMm, 1.8 * size.spacingMm * size.heightMm);
    const widthMm = beadWidthMm(section, size.heightMm);
    for (const line of lines) beads.push({ kind, closed: line.closed, widthMm, xyMm: line.xyMm });
  }
  return beads;
}

function lineLength(xy: Float64Array, closed: boolean): number {
  let sum = 0;
  for (let i = 2; i < xy.length; i += 2) sum += Math.hypot(xy[i] - xy[i - 2], xy[i + 1] - xy[i - 1]);
  return closed ? sum + Math.hypot(xy[0] - xy[xy.length - 2], xy[1] - xy[xy.length - 1]) : sum;
}
