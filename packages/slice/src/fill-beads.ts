import type { BeadKind, Recipe } from '@stonehand/model';
import { beadWidthMm } from './bead-section.ts';
import { type Bead, beadLengthMm } from './beads.ts';
import { GYROID_LENGTH, gyroidInside } from './gyroid.ts';
import { hatch } from './hatch.ts';
import { strokesOf } from './hatch-beads.ts';
import type { BeadSize } from './perimeters.ts';
import { type Rings, ringCount, ringsAreaMm2 } from './rings.ts';

/** Limits of the correction that makes an area hold its share exactly; for all but the smallest areas it is a few per cent. */
const LEAST_SECTION = 0.6;
const MOST_SECTION = 1.5;

/**
 * Beads side by side over a whole area. Lines end half a spacing short and are linked there, which keeps the length at
 * area / spacing; what the whole number of lines leaves is put right by the section, so that the volume is area × height.
 */
export function solidBeads(area: Rings, kind: BeadKind, angleRad: number, size: BeadSize): Bead[] {
  const lines = hatch(area, angleRad, size.spacingMm);
  return filling(strokesOf(lines, { linked: true, shortenMm: size.spacingMm / 2 }), kind, ringsAreaMm2(area), size);
}

/** Parallel single lines that fill a share of the area; support, contact layers and line infill. */
export function lineBeads(area: Rings, kind: BeadKind, angleRad: number, share: number, size: BeadSize): Bead[] {
  if (ringCount(area) === 0 || share <= 0) return [];
  const lines = hatch(area, angleRad, size.spacingMm / share);
  return filling(strokesOf(lines, { linked: false, shortenMm: 0 }), kind, share * ringsAreaMm2(area), size);
}

/** The strokes as beads with the section that makes them fill fillMm2 (within the limits). */
function filling(strokes: readonly Float64Array[], kind: BeadKind, fillMm2: number, size: BeadSize): Bead[] {
  const beads = strokes.map((xyMm): Bead => ({ kind, closed: false, widthMm: size.widthMm, xyMm }));
  const lengthMm = beads.reduce((sum, bead) => sum + beadLengthMm(bead), 0);
  if (lengthMm === 0) return [];
  const share = Math.min(MOST_SECTION, Math.max(LEAST_SECTION, fillMm2 / (lengthMm * size.spacingMm)));
  const widthMm = beadWidthMm(share * size.spacingMm * size.heightMm, size.heightMm);
  return beads.map((bead) => ({ ...bead, widthMm }));
}

/** Infill of one layer in the recipe's pattern and share. */
export function infillBeads(area: Rings, layer: number, zMm: number, recipe: Recipe, size: BeadSize): Bead[] {
  const share = recipe.infillShare;
  if (ringCount(area) === 0 || share <= 0) return [];
  if (recipe.infillPattern === 'lines') return lineBeads(area, 'infill', solidAngle(layer), share, size);
  if (recipe.infillPattern === 'grid') {
    return [0, 1].flatMap((turn) => lineBeads(area, 'infill', solidAngle(turn), share / 2, size));
  }
  const periodMm = gyroidPeriodMm(share, size.spacingMm);
  // The curves' length in a plane varies with its height; the share holds on average over a period, so no correction here.
  return gyroidInside(area, zMm, periodMm).map(
    (xyMm): Bead => ({ kind: 'infill', closed: false, widthMm: size.widthMm, xyMm }),
  );
}

/** The period at which a gyroid of single beads fills this share of an area. */
export const gyroidPeriodMm = (share: number, spacingMm: number): number => (GYROID_LENGTH * spacingMm) / share;

/** Solid layers and line infill cross at right angles from layer to layer. */
export const solidAngle = (layer: number): number => (layer % 2 === 0 ? Math.PI / 4 : (3 * Math.PI) / 4);
