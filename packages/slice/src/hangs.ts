import type { LayerLoops, Recipe } from '@stonehand/model';
import { bestBridge } from './bridges.ts';
import { islandsOf } from './islands.ts';
import { layerHeightMm } from './layer-regions.ts';
import { type OutlineMove, outlineMove } from './outline-moves.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, type Rings, ringCount } from './rings.ts';
import { SIMPLIFY_MM, simplifiedLayer, simplifiedRings } from './simplify-loops.ts';
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
 * Simplified outlines differ from the true ones by SIMPLIFY_MM, so an overhang of twice that much may be none. Where one is
 * suspected, outlines twenty times finer decide: at 0.2 mm layers and a limit of 45° places steeper by half a degree are found.
 */
const FINE_MM = SIMPLIFY_MM / 20;
const FINE_SLACK_MM = 3 * FINE_MM;
const COARSE_SLACK_MM = 2 * SIMPLIFY_MM;

/**
 * For each layer the places that hang: what of the layer is not within h·tan(limit) of the layer below, grown back to the
 * edge it hangs from. Layer 0 lies on the build plate. A limit of exactly 45° needs none (check values F7).
 */
export function hangsOf(
  regions: readonly Rings[],
  moveTo: (layer: number) => OutlineMove,
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
): Hang[][] {
  const hangsAt = hangFinder(regions, moveTo, loops, recipe, polygons);
  return regions.map((_, i) => hangsAt(i));
}

/** The same layer by layer, in any order; a layer and the one below it must be in `regions` when it is asked for. */
export function hangFinder(
  regions: readonly Rings[],
  moveTo: (layer: number) => OutlineMove,
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
): (layer: number) => Hang[] {
  const tangent = Math.tan((recipe.overhangFromVerticalDeg * Math.PI) / 180);
  const fineRegion = fineRegions(loops, polygons);
  let hung = false;
  return (i) => {
    const region = regions[i];
    if (i === 0 || region === regions[i - 1] || ringCount(region) === 0) return [];
    const below = regions[i - 1];
    const reachMm = layerHeightMm(loops, i) * tangent;
    const sureMm = Math.max(0, reachMm - COARSE_SLACK_MM);
    if (moveTo(i).outMm <= sureMm) {
      hung = false;
      return [];
    }
    // Above a layer that hangs the next one mostly does too: the coarse test would clear nothing.
    if (!hung) {
      const surely = polygons.offset(below, sureMm);
      if (polygons.covers(surely, region)) return [];
    }
    hung = false;
    const fineReachMm = reachMm + FINE_SLACK_MM;
    if (outlineMove(fineRegion(i - 1), fineRegion(i)).outMm <= fineReachMm) return [];
    const reached = polygons.offset(fineRegion(i - 1), fineReachMm);
    if (polygons.covers(reached, fineRegion(i))) return [];
    const beyond = withoutSlivers(polygons.subtract(fineRegion(i), reached), FINE_SLACK_MM, polygons);
    if (ringCount(beyond) === 0) return [];
    hung = true;
    const overAir = polygons.subtract(region, below);
    const area = polygons.intersect(overAir, polygons.offset(beyond, reachMm + COARSE_SLACK_MM));
    return islandsOf(area).map((island) => hangOf(island, below, recipe, polygons));
  };
}

/** Regions at the finer tolerance, made when asked for; the last two are kept. */
function fineRegions(loops: LayerLoops, polygons: Polygons): (layer: number) => Rings {
  const kept = new Map<number, Rings>();
  return (layer) => {
    const known = kept.get(layer);
    if (known !== undefined) return known;
    const raw = simplifiedLayer(loops, layer, FINE_MM);
    const region = polygons.clean(raw) ? raw : polygons.union(raw);
    kept.delete(layer - 2);
    kept.set(layer, region);
    return region;
  };
}

function hangOf(area: Rings, below: Rings, recipe: Recipe, polygons: Polygons): Hang {
  const bridge = bestBridge(area, below, recipe.bridgeMm, recipe.beadWidthMm);
  if (bridge === undefined) return { area, unsupported: area };
  if (bridge.share === 1) return { area, bridgeRad: bridge.angleRad, unsupported: NO_RINGS };
  const beside = withoutSlivers(polygons.subtract(area, bridge.strips), recipe.beadWidthMm, polygons);
  // The strips' ends leave a comb of one tooth a bead; the support below needs none of it.
  return { area, bridgeRad: bridge.angleRad, unsupported: simplifiedRings(beside, recipe.beadWidthMm / 2) };
}

/** Everything of a layer that needs support. */
export const unsupportedOf = (hangs: readonly Hang[]): Rings => concatRings(hangs.map((hang) => hang.unsupported));
