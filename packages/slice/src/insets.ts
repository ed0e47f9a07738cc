import { islandsOf } from './islands.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, type Rings, ringCount } from './rings.ts';

/**
 * A clean region shrunk by each of the depths, ascending. Islands are done one by one: where the deepest outline needs no clipping the ones
 * above it need neither (edges shrink linearly), so they are moved without a check; the clipper works on the others only.
 */
export function insets(region: Rings, depthsMm: readonly number[], polygons: Polygons): Rings[] {
  if (ringCount(region) === 0) return depthsMm.map(() => NO_RINGS);
  const parts = islandsOf(region).map((island) => insetsOfIsland(island, depthsMm, polygons));
  return depthsMm.map((_, k) => concatRings(parts.map((part) => part[k])));
}

function insetsOfIsland(island: Rings, depthsMm: readonly number[], polygons: Polygons): Rings[] {
  for (let valid = depthsMm.length; valid > 0; valid--) {
    const deepest = polygons.shiftChecked(island, -depthsMm[valid - 1]);
    if (deepest === undefined) continue;
    return depthsMm.map((depth, k) => {
      if (k === valid - 1) return deepest;
      return (k < valid ? polygons.shift(island, -depth) : undefined) ?? polygons.clippedOffset(island, -depth);
    });
  }
  return depthsMm.map((depth) => polygons.clippedOffset(island, -depth));
}
