import type { Recipe } from '@stonehand/model';
import type { Hang } from './hangs.ts';
import type { Polygons } from './polygons.ts';
import { NO_RINGS, type Rings, ringCount } from './rings.ts';
import { withoutSlivers } from './slivers.ts';

/** How the inside of one layer is filled. */
export type Filling = Readonly<{
  solid: Rings;
  sparse: Rings;
  bridges: readonly Readonly<{ area: Rings; angleRad: number }>[];
}>;

/** Above this share lines at s/share would overlap so nearly that "solid" is meant. */
const FULL_SHARE = 0.999;

/**
 * Splits the core of every layer into solid floors and roofs (where any of the floorLayers below or the roofLayers above
 * does not cover), bridges, and the rest.
 */
export function fillingOf(
  layer: number,
  regions: readonly Rings[],
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
    const covered = coveredPart(layer, regions, core, recipe, polygons);
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
function coveredPart(layer: number, regions: readonly Rings[], core: Rings, recipe: Recipe, polygons: Polygons): Rings {
  if (layer < recipe.floorLayers || layer + recipe.roofLayers >= regions.length) return NO_RINGS;
  let covered = core;
  let last = regions[layer];
  const visit = (other: Rings): void => {
    if (other === last || ringCount(covered) === 0) return;
    last = other;
    if (!polygons.covers(other, covered)) covered = polygons.intersect(covered, other);
  };
  for (let k = 1; k <= recipe.roofLayers; k++) visit(regions[layer + k]);
  last = regions[layer];
  for (let k = 1; k <= recipe.floorLayers; k++) visit(regions[layer - k]);
  return covered;
}
