import type { LayerLoops, Recipe } from '@stonehand/model';
import { bestBridge } from './bridges.ts';
import { islandsOf } from './islands.ts';
import { layerHeightMm } from './layer-regions.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, type Rings, ringCount } from './rings.ts';
import { withoutSlivers } from './slivers.ts';

/** One place of a layer that lies over air beyond the overhang limit. */
export type Hang = Readonly<{
  area: Rings;
  /** direction of the bridging beads, where both ends are anchored on the layer below */
  bridgeRad?: number;
  /** what a bridge does not carry */
  unsupported: Rings;
}>;

/**
 * A limit of exactly 45° needs no support (check values F7): this much of overhang is rounding and simplified outlines, not slope.
 */
const REACH_SLACK_MM = 0.003;
const SLIVER_MM = 0.006;

/**
 * For each layer the places that hang: what of the layer is not within h·tan(limit) of the layer below, grown back to the
 * edge it hangs from. Layer 0 lies on the build plate.
 */
export function hangsOf(regions: readonly Rings[], loops: LayerLoops, recipe: Recipe, polygons: Polygons): Hang[][] {
  const tangent = Math.tan((recipe.overhangFromVerticalDeg * Math.PI) / 180);
  return regions.map((region, i) => {
    if (i === 0 || region === regions[i - 1] || ringCount(region) === 0) return [];
    const below = regions[i - 1];
    const reachMm = layerHeightMm(loops, i) * tangent + REACH_SLACK_MM;
    const beyond = beyondReach(region, below, reachMm, polygons);
    if (ringCount(beyond) === 0) return [];
    const overAir = polygons.subtract(region, below);
    const area = polygons.intersect(overAir, polygons.offset(beyond, reachMm + SLIVER_MM));
    return islandsOf(area).map((island) => hangOf(island, below, recipe, polygons));
  });
}

function beyondReach(region: Rings, below: Rings, reachMm: number, polygons: Polygons): Rings {
  const reached = polygons.offset(below, reachMm);
  if (polygons.covers(reached, region)) return NO_RINGS;
  return withoutSlivers(polygons.subtract(region, reached), SLIVER_MM, polygons);
}

function hangOf(area: Rings, below: Rings, recipe: Recipe, polygons: Polygons): Hang {
  const bridge = bestBridge(area, below, recipe.bridgeMm, recipe.beadWidthMm);
  if (bridge === undefined) return { area, unsupported: area };
  const unsupported = bridge.share === 1 ? NO_RINGS : polygons.subtract(area, polygons.union(bridge.strips));
  return { area, bridgeRad: bridge.angleRad, unsupported: withoutSlivers(unsupported, recipe.beadWidthMm, polygons) };
}

/** Everything of a layer that needs support. */
export const unsupportedOf = (hangs: readonly Hang[]): Rings => concatRings(hangs.map((hang) => hang.unsupported));
