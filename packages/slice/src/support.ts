import { loopArea, loopLength } from './loop-measures.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, pickRings, type Rings, ringCount } from './rings.ts';
import { simplifiedRings } from './simplify-loops.ts';

export type SupportOptions = Readonly<{
  /** empty layers between support and the part above it, and between the part and support that stands on it */
  supportGapLayers: number;
  /** support layers under the gap that are printed dense */
  contactLayers: number;
  /** distance from the part's walls */
  supportSideGapMm: number;
}>;

/**
 * Columns are drawn this coarsely: a fifth of a bead, and a third of the gap to the part's walls. Without it every layer leaves its steps in the
 * column below, and clipping a tall part's support takes ten times as long.
 */
const COARSE_MM = 0.1;

/** Support of one layer: columns at the recipe's share, contact layers dense. */
export type SupportLayer = Readonly<{ columns: Rings; contact: Rings }>;

/**
 * Columns under everything unsupported, going down to the build plate or to the part below. unsupported[i] is the part of
 * layer i that needs support.
 */
export function supportLayers(
  regions: readonly Rings[],
  unsupported: readonly Rings[],
  { supportGapLayers: gap, contactLayers, supportSideGapMm }: SupportOptions,
  polygons: Polygons,
): SupportLayer[] {
  const n = regions.length;
  const layers: SupportLayer[] = Array.from({ length: n }, () => ({ columns: NO_RINGS, contact: NO_RINGS }));
  const part = coarseLayers(regions);
  let column: Rings = NO_RINGS;
  let shadow: Rings | undefined;
  let printed: Rings = NO_RINGS;
  let additions = 0;
  for (let i = n - 1 - gap; i >= 0; i--) {
    const added = i + 1 + gap < n ? coarse(unsupported[i + 1 + gap]) : NO_RINGS;
    const blocked = keepOut(regions, i, gap);
    const same = ringCount(added) === 0 && blocked === shadow;
    if (ringCount(added) > 0) {
      // Rings that overlap are one area to the clipper, so uniting them needs no step of its own.
      column = concatRings([column, added]);
      if (additions++ % CLOSE_EVERY === 0) column = closed(column, polygons);
    }
    if (ringCount(column) === 0) continue;
    if (!same) {
      column = withoutSpecks(column);
      // What stands inside the part here needs no column further down.
      column = coarse(polygons.subtract(column, part(i)));
      printed = polygons.subtract(column, concatRings(keptOff(part, i, gap, supportSideGapMm, polygons)));
      shadow = blocked;
    }
    layers[i] = splitContact(printed, unsupported.slice(i + 1 + gap, i + 1 + gap + contactLayers), polygons);
  }
  return layers;
}

/** Columns nearer to each other than this are one: no bead fits between them. A slope's strips would else leave hundreds of slits. */
const SLIT_MM = 0.4;
/** Slits are closed after so many layers with new strips: each closing costs as much as all else in a layer. */
const CLOSE_EVERY = 4;

function closed(column: Rings, polygons: Polygons): Rings {
  const whole = polygons.offset(polygons.offset(column, SLIT_MM / 2), -SLIT_MM / 2);
  return simplifiedRings(whole, (r) => {
    const from = whole.ringStart[r];
    const to = whole.ringStart[r + 1];
    const meanWidthMm = (2 * Math.abs(loopArea(whole.xyMm, from, to))) / loopLength(whole.xyMm, from, to);
    return Math.min(BROAD_MM, Math.max(COARSE_MM, meanWidthMm / 100));
  });
}

/** Broad columns are drawn coarser still, by a hundredth of their mean width at most: the strips of a slope end in teeth of a third of a mm, one a layer. */
const BROAD_MM = 0.25;

/** Islands that no bead fits into and holes that no line of sparse columns would notice: they cost clipping, layer after layer. */
const SPECK_MM2 = 0.2;
const HOLE_MM2 = 2;

/** Filled holes that the part stands in are cut again by the layer's own subtraction. */
function withoutSpecks(column: Rings): Rings {
  const which: number[] = [];
  for (let r = 0; r < ringCount(column); r++) {
    const area = loopArea(column.xyMm, column.ringStart[r], column.ringStart[r + 1]);
    if (area > SPECK_MM2 || area < -HOLE_MM2) which.push(r);
  }
  return pickRings(column, which);
}

/** What support of a layer keeps off: the part with its side gap, and the layers just below that it must not stand on. */
function keptOff(
  part: (layer: number) => Rings,
  i: number,
  gap: number,
  supportSideGapMm: number,
  polygons: Polygons,
): Rings[] {
  const kept = [supportSideGapMm > 0 ? polygons.offset(part(i), supportSideGapMm) : part(i)];
  for (let k = 1; k <= gap && i - k >= 0; k++) if (part(i - k) !== part(i)) kept.push(part(i - k));
  return kept;
}

const coarse = (rings: Rings): Rings => (ringCount(rings) === 0 ? rings : simplifiedRings(rings, COARSE_MM));

/** Regions drawn coarsely, each made once; equal neighbours are one object. */
function coarseLayers(regions: readonly Rings[]): (layer: number) => Rings {
  const made = new Map<Rings, Rings>();
  return (layer) => {
    const region = regions[layer];
    let known = made.get(region);
    if (known === undefined) {
      known = coarse(region);
      made.set(region, known);
    }
    return known;
  };
}

/** A value that is the same object as long as the part's outlines beside and just below the layer do not change. */
function keepOut(regions: readonly Rings[], i: number, gap: number): Rings | undefined {
  for (let k = 1; k <= gap; k++) if (i - k >= 0 && regions[i - k] !== regions[i]) return undefined;
  return regions[i];
}

function splitContact(printed: Rings, above: readonly Rings[], polygons: Polygons): SupportLayer {
  const needing = concatRings(above);
  if (ringCount(needing) === 0 || ringCount(printed) === 0) return { columns: printed, contact: NO_RINGS };
  const contact = coarse(polygons.intersect(printed, coarse(needing)));
  if (ringCount(contact) === 0) return { columns: printed, contact };
  return { columns: polygons.subtract(printed, contact), contact };
}
