import type { LayerLoops, Recipe } from '@stonehand/model';
import { beadSpacingMm } from './bead-section.ts';
import type { Hang } from './hangs.ts';
import { layerHeightMm } from './layer-regions.ts';
import type { OutlineMove } from './outline-moves.ts';
import type { Polygons } from './polygons.ts';
import { NO_RINGS, type Rings, ringCount } from './rings.ts';
import { SIMPLIFY_MM } from './simplify-loops.ts';
import { withoutSlivers } from './slivers.ts';

/** How the inside of one layer is filled. */
export type Filling = Readonly<{
  solid: Rings;
  sparse: Rings;
  bridges: readonly Readonly<{ area: Rings; angleRad: number }>[];
}>;

/** The outlines of all layers. */
export type Outlines = Readonly<{
  loops: Pick<LayerLoops, 'bottomMm' | 'topMm'>;
  regions: readonly Rings[];
  moveTo: (layer: number) => OutlineMove;
}>;

/** Above this share lines at s/share would overlap so nearly that "solid" is meant. */
const FULL_SHARE = 0.999;

/**
 * Splits the core of every layer into solid floors and roofs (where any of the floorLayers below or the roofLayers above
 * does not cover), bridges, and the rest.
 */
export function fillingOf(
  layer: number,
  stack: Outlines,
  core: Rings,
  hangs: readonly Hang[],
  recipe: Recipe,
  polygons: Polygons,
): Filling {
  if (ringCount(core) === 0) return { solid: NO_RINGS, sparse: NO_RINGS, bridges: [] };
  const spacingMm = recipe.beadWidthMm;
  let solid = core;
  let sparse: Rings = NO_RINGS;
  if (recipe.infillShare < FULL_SHARE) {
    const covered = coveredPart(layer, stack, core, recipe, polygons);
    if (covered === core) {
      solid = NO_RINGS;
      sparse = core;
    } else if (ringCount(covered) > 0) {
      solid = withoutSlivers(polygons.subtract(core, covered), spacingMm / 2, polygons);
      sparse = withoutSlivers(polygons.subtract(core, solid), spacingMm / 4, polygons);
    }
  }
  const bridges: { area: Rings; angleRad: number }[] = [];
  for (const hang of hangs) {
    if (hang.bridgeRad === undefined || ringCount(solid) === 0) continue;
    // The beads reach one width onto their anchors.
    const area = polygons.intersect(solid, polygons.offset(hang.area, recipe.beadWidthMm));
    if (ringCount(area) === 0) continue;
    bridges.push({ area, angleRad: hang.bridgeRad });
    solid = withoutSlivers(polygons.subtract(solid, area), spacingMm / 4, polygons);
  }
  return { solid, sparse, bridges };
}

/** What of the core lies inside all the layers above and below that count; the core itself when that is all of it. */
function coveredPart(layer: number, stack: Outlines, core: Rings, recipe: Recipe, polygons: Polygons): Rings {
  const { loops, regions, moveTo } = stack;
  if (layer < recipe.floorLayers || layer + recipe.roofLayers >= regions.length) return NO_RINGS;
  // The core lies so deep inside its own outline that layers whose outline has not moved as far cover it for certain.
  const deepMm = recipe.perimeters * beadSpacingMm(recipe.beadWidthMm, layerHeightMm(loops, layer)) - SIMPLIFY_MM;
  let covered = core;
  let last = regions[layer];
  const visit = (other: Rings): void => {
    if (other === last || ringCount(covered) === 0) return;
    last = other;
    if (!polygons.covers(other, covered)) covered = polygons.intersect(covered, other);
  };
  let movedMm = 0;
  for (let k = 1; k <= recipe.roofLayers; k++) {
    movedMm += moveTo(layer + k).inMm;
    if (movedMm > deepMm) visit(regions[layer + k]);
  }
  last = regions[layer];
  movedMm = 0;
  for (let k = 1; k <= recipe.floorLayers; k++) {
    movedMm += moveTo(layer - k + 1).outMm;
    if (movedMm > deepMm) visit(regions[layer - k]);
  }
  return covered;
}
