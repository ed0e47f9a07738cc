import type { Bead } from './beads.ts';
import { loopArea } from './loop-measures.ts';
import type { BeadSize } from './perimeters.ts';
import type { Polygons } from './polygons.ts';
import { pickRings, type Rings, ringCount } from './rings.ts';

/** Loops around the outer outlines of the first layer, outermost first, at full spacing; holes get none. */
export function brimBeads(region: Rings, brimMm: number, size: BeadSize, polygons: Polygons): Bead[] {
  const outline = polygons.union(outerRings(region));
  const loops = Math.round(brimMm / size.spacingMm);
  const beads: Bead[] = [];
  for (let k = loops - 1; k >= 0; k--) {
    const rings = outerRings(polygons.offset(outline, (k + 0.5) * size.spacingMm, { join: 'round' }));
    for (let r = 0; r < ringCount(rings); r++) {
      const xyMm = rings.xyMm.slice(2 * rings.ringStart[r], 2 * rings.ringStart[r + 1]);
      beads.push({ kind: 'brim', closed: true, widthMm: size.widthMm, xyMm });
    }
  }
  return beads;
}

export function outerRings(rings: Rings): Rings {
  const which: number[] = [];
  for (let r = 0; r < ringCount(rings); r++) {
    if (loopArea(rings.xyMm, rings.ringStart[r], rings.ringStart[r + 1]) > 0) which.push(r);
  }
  return pickRings(rings, which);
}
