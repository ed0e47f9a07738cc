import type { InfillPattern, Recipe } from '@stonehand/model';
import type { LayerFill, LayerStack } from './bead-paths.ts';
import { beadSpacingMm } from './bead-section.ts';
import { GYROID_LENGTH } from './gyroid.ts';
import type { Polygons } from './polygons.ts';
import { type Rings, ringCount, ringsAreaMm2 } from './rings.ts';

/** The widest place that a solid roof has to span where the infill below it were left out: across, and how high. */
export type RoofSpan = Readonly<{ acrossMm: number; zMm: number }>;

/** Half of what matters: spans are compared with bridges of several mm. */
const RESOLVED_MM = 0.25;

/**
 * The widest circle that fits between what carries the first layer of any roof (walls and solid layers below it). Infill is
 * not counted: see infillGapMm. 0 across where every roof lies on something solid.
 */
export function roofSpan(stack: LayerStack, fills: readonly LayerFill[], polygons: Polygons): RoofSpan {
  let widest: RoofSpan = { acrossMm: 0, zMm: 0 };
  for (let i = 1; i < fills.length; i++) {
    const sparse = fills[i - 1].filling.sparse;
    const solid = fills[i].filling.solid;
    if (ringCount(sparse) === 0 || ringCount(solid) === 0) continue;
    // A circle of that width has this area at least: most layers of a slope end here.
    if (Math.min(ringsAreaMm2(sparse), ringsAreaMm2(solid)) <= (Math.PI / 4) * widest.acrossMm ** 2) continue;
    const open = polygons.intersect(solid, sparse);
    const acrossMm = widerThan(open, widest.acrossMm, polygons);
    if (acrossMm > widest.acrossMm) widest = { acrossMm, zMm: stack.loops.zMm[i] };
  }
  polygons.free();
  return widest;
}

/** Width of the widest circle inside the region when it is wider than leastMm, to the resolution; leastMm otherwise. */
function widerThan(region: Rings, leastMm: number, polygons: Polygons): number {
  const fits = (mm: number): boolean => ringCount(polygons.offset(region, -mm / 2)) > 0;
  let low = leastMm;
  if (ringCount(region) === 0 || !fits(low + RESOLVED_MM)) return low;
  let step = 2;
  while (fits(low + step)) {
    low += step;
    step *= 2;
  }
  for (; step > RESOLVED_MM; step /= 2) if (fits(low + step / 2)) low += step / 2;
  return low;
}

/**
 * Clear distance between neighbouring lines of infill at a share: what a roof has to span over it. Grids lay half their share each
 * way; a gyroid's curves are half its period apart. Infinite at 0.
 */
export function infillGapMm(
  infillShare: number,
  pattern: InfillPattern,
  { beadWidthMm, layerMm }: Pick<Recipe, 'beadWidthMm' | 'layerMm'>,
): number {
  if (infillShare <= 0) return Number.POSITIVE_INFINITY;
  const spacingMm = beadSpacingMm(beadWidthMm, layerMm) / infillShare;
  const apartMm =
    pattern === 'lines' ? spacingMm : pattern === 'grid' ? 2 * spacingMm : (GYROID_LENGTH * spacingMm) / 2;
  return Math.max(0, apartMm - beadWidthMm);
}
