import type { BeadKind } from '@stonehand/model';

/** Order of the numbers in LayerPaths.kind. */
export const BEAD_KINDS: readonly BeadKind[] = [
  'outerPerimeter',
  'innerPerimeter',
  'solid',
  'bridge',
  'infill',
  'support',
  'contact',
  'brim',
  'purge',
  'travel',
];

/** What the round sides of a bead take from its width: spacing = width − ROUND_SIDES · height. */
const ROUND_SIDES = 1 - Math.PI / 4;

/**
 * Cross-section of a bead in mm²: a stadium, height h with half-round sides (check values F3; the same formula is given
 * by a hot-end maker). A bead narrower than its height is taken as round, which meets the stadium at width = height.
 */
export function beadAreaMm2(widthMm: number, heightMm: number): number {
  if (widthMm < heightMm) return (Math.PI / 4) * widthMm * widthMm;
  return (widthMm - heightMm) * heightMm + (Math.PI / 4) * heightMm * heightMm;
}

/** Distance between beads that fill a layer without gaps: cross-section over height = w − h(1 − π/4). */
export function beadSpacingMm(widthMm: number, heightMm: number): number {
  return beadAreaMm2(widthMm, heightMm) / heightMm;
}

/** Width of the bead that has the cross-section areaMm2: the inverse of beadAreaMm2. */
export function beadWidthMm(areaMm2: number, heightMm: number): number {
  if (areaMm2 < (Math.PI / 4) * heightMm * heightMm) return Math.sqrt((areaMm2 * 4) / Math.PI);
  return areaMm2 / heightMm + ROUND_SIDES * heightMm;
}
