import type { BeadKind } from '@stonehand/model';
import { beadWidthMm } from './bead-section.ts';
import type { Bead } from './beads.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, type Rings, ringCount, ringsAreaMm2, ringsLengthMm } from './rings.ts';
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
  if (count === 0) return { beads: [], core: island };
  return allAtOnce(island, count, size, polygons) ?? oneByOne(island, count, size, polygons);
}

/**
 * Where the outline can move in by all perimeters and the room for one bead more without touching itself, every step
 * between is valid too (edges shrink linearly), so no step needs a check of its own.
 */
function allAtOnce(island: Rings, count: number, size: BeadSize, polygons: Polygons): Perimeters | undefined {
  const depthMm = (count + PAIR_SHARE) * size.spacingMm;
  if (polygons.shiftChecked(island, -depthMm) === undefined) return undefined;
  const beads: Bead[] = [];
  for (let k = count - 1; k >= 0; k--) {
    const loops = polygons.shift(island, -(size.widthMm / 2 + k * size.spacingMm));
    if (loops === undefined) return undefined;
    beads.push(...loopBeads(loops, k, size.widthMm));
  }
  const core = polygons.shift(island, -count * size.spacingMm);
  return core === undefined ? undefined : { beads, core };
}

function oneByOne(island: Rings, count: number, size: BeadSize, polygons: Polygons): Perimeters {
  const beads: Bead[] = [];
  let region = island;
  for (let k = 0; k < count && ringCount(region) > 0; k++) {
    const paired = pairedPart(region, size, polygons);
    beads.unshift(...thinBeads(paired.thin, kindOf(k), size, polygons));
    if (ringCount(paired.heart) === 0) {
      region = NO_RINGS;
      break;
    }
    const loops = polygons.offset(paired.heart, PAIR_SHARE * size.spacingMm - size.widthMm / 2);
    const inner = polygons.offset(paired.heart, -(1 - PAIR_SHARE) * size.spacingMm);
    // A gap that no bead fits into goes to the pair beside it.
    const left = ringCount(polygons.offset(inner, (-LEAST_SHARE / 2) * size.spacingMm)) === 0 ? NO_RINGS : inner;
    // Where two beads share less (or more) than two spacings, their section follows from the area they fill.
    const fillMm2 = ringsAreaMm2(paired.broad) - ringsAreaMm2(left);
    const share = Math.min(MOST_SHARE, Math.max(PAIR_SHARE, fillMm2 / (ringsLengthMm(loops) * size.spacingMm)));
    const widthMm =
      Math.abs(share - 1) < 0.02 ? size.widthMm : beadWidthMm(share * size.spacingMm * size.heightMm, size.heightMm);
    beads.unshift(...loopBeads(loops, k, widthMm));
    region = left;
  }
  const paired = pairedPart(region, size, polygons);
  beads.unshift(...thinBeads(paired.thin, 'innerPerimeter', size, polygons));
  return { beads, core: paired.broad };
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

/** Cores of several islands as one region. */
export const coreOf = (parts: readonly Perimeters[]): Rings => concatRings(parts.map((part) => part.core));
