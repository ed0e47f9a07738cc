import type { BeadKind } from '@stonehand/model';
import { beadWidthMm } from './bead-section.ts';
import type { Bead } from './beads.ts';
import type { Polygons } from './polygons.ts';
import { NO_RINGS, type Rings, ringCount, ringsAreaMm2, ringsLengthMm } from './rings.ts';
import { LEAST_SHARE, thinBeads } from './thin-beads.ts';

/** A pair with a gap of LEAST_SHARE spacings between takes 1 + LEAST_SHARE/2 spacings a bead. */
const MOST_SHARE = 1 + LEAST_SHARE / 2;

export type BeadSize = Readonly<{ widthMm: number; heightMm: number; spacingMm: number }>;

export type Perimeters = Readonly<{
  /** loops and thin beads, innermost first */
  beads: readonly Bead[];
  /** what is left for solids and infill */
  core: Rings;
}>;

/**
 * Between two beads side by side and one broad bead: where a wall is thinner than this share of two spacings, a single
 * bead of the wall's own width replaces the pair. At 0.8 the single one is at most 1.6 spacings broad and the pair at
 * least 0.8 of its usual section, which nozzles manage (check values B4: beads of 100 to 150 % of the nozzle).
 */
const PAIR_SHARE = 0.8;

/**
 * The perimeters of one island (an outer ring and its holes). The first bead's outer edge lies on the outline, its centre
 * half a bead width inside; the others follow by one spacing s, and the core begins N·s inside, so that N perimeters
 * deposit N·s per mm of outline (check values F6).
 */
export function perimetersOf(island: Rings, count: number, size: BeadSize, polygons: Polygons): Perimeters {
  const beads: Bead[] = [];
  const even = evenCount(island, count, size, polygons);
  for (let k = 0; k < even; k++) {
    const loops = polygons.shift(island, -(size.widthMm / 2 + k * size.spacingMm)) ?? NO_RINGS;
    beads.unshift(...loopBeads(loops, k, size.widthMm));
  }
  let region = even === 0 ? island : (polygons.shift(island, -even * size.spacingMm) ?? NO_RINGS);
  for (let k = even; k < count && ringCount(region) > 0; k++) {
    const step = perimeterOf(region, k, size, polygons);
    beads.unshift(...step.beads);
    region = step.core;
  }
  if (even === count) return { beads, core: region };
  const paired = pairedPart(region, size, polygons);
  beads.unshift(...thinBeads(paired.thin, 'innerPerimeter', size, polygons));
  return { beads, core: paired.broad };
}

/**
 * How many perimeters fit everywhere with room for half a pair more. Where the outline can move in that far without touching
 * itself, every step between is valid too (edges shrink linearly), so those steps need no check of their own.
 */
function evenCount(island: Rings, count: number, size: BeadSize, polygons: Polygons): number {
  for (let k = count; k > 0; k--) {
    if (polygons.shiftChecked(island, -(k + PAIR_SHARE) * size.spacingMm) !== undefined) return k;
  }
  return 0;
}

/** One perimeter of a region that is narrow in places. */
function perimeterOf(region: Rings, k: number, size: BeadSize, polygons: Polygons): Perimeters {
  const { spacingMm } = size;
  const { broad, heart, thin } = pairedPart(region, size, polygons);
  const single = thinBeads(thin, kindOf(k), size, polygons);
  if (ringCount(heart) === 0) return { beads: single, core: NO_RINGS };
  const loops = polygons.offset(heart, PAIR_SHARE * spacingMm - size.widthMm / 2);
  const inner = polygons.offset(heart, -(1 - PAIR_SHARE) * spacingMm);
  // A gap that no bead fits into goes to the pair beside it.
  const core = isThinnerThan(inner, LEAST_SHARE * spacingMm, polygons) ? NO_RINGS : inner;
  // Where two beads share less (or more) than two spacings, their section follows from the area they fill.
  const fillMm2 = ringsAreaMm2(broad) - ringsAreaMm2(core);
  const share = Math.min(MOST_SHARE, Math.max(PAIR_SHARE, fillMm2 / (ringsLengthMm(loops) * spacingMm)));
  const even = Math.abs(share - 1) < 0.02;
  const widthMm = even ? size.widthMm : beadWidthMm(share * spacingMm * size.heightMm, size.heightMm);
  return { beads: [...single, ...loopBeads(loops, k, widthMm)], core };
}

function isThinnerThan(region: Rings, widthMm: number, polygons: Polygons): boolean {
  if (ringCount(region) === 0) return true;
  // Twice area over outline is the mean width; far above the limit there is a broad place for certain.
  if (2 * ringsAreaMm2(region) > 2 * widthMm * ringsLengthMm(region)) return false;
  return ringCount(polygons.offset(region, -widthMm / 2)) === 0;
}

/**
 * Splits a region into the part that is wide enough for two beads (broad; heart is the same shrunk by PAIR_SHARE of a
 * spacing) and what is left beside it (thin).
 */
function pairedPart(region: Rings, size: BeadSize, polygons: Polygons): { broad: Rings; heart: Rings; thin: Rings } {
  const reachMm = PAIR_SHARE * size.spacingMm;
  const heart = polygons.offset(region, -reachMm);
  if (ringCount(heart) === 0) return { broad: NO_RINGS, heart, thin: region };
  const broad = polygons.offset(heart, reachMm);
  // A whole island that came back with the same area has no thin part: the usual case costs no clipping.
  const lostMm2 = ringsAreaMm2(region) - ringsAreaMm2(broad);
  if (lostMm2 < 0.02 * size.spacingMm * size.spacingMm) return { broad, heart, thin: NO_RINGS };
  return { broad, heart, thin: polygons.subtract(region, broad) };
}

const kindOf = (k: number): BeadKind => (k === 0 ? 'outerPerimeter' : 'innerPerimeter');

function loopBeads(loops: Rings, k: number, widthMm: number): Bead[] {
  const beads: Bead[] = [];
  for (let r = 0; r < ringCount(loops); r++) {
    const xyMm = loops.xyMm.slice(2 * loops.ringStart[r], 2 * loops.ringStart[r + 1]);
    beads.push({ kind: kindOf(k), closed: true, widthMm, xyMm });
  }
  return beads;
}
