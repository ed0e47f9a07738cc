import type { Material, Mesh, Printer, Recipe, WhatIfRow } from '@stonehand/model';
import {
  infillGapMm,
  type LayerStack,
  layerFills,
  layerStack,
  type Polygons,
  pathsOfStack,
  type RoofSpan,
  roofSpan,
  sliceMesh,
} from '@stonehand/slice';
import { estimatePaths } from './estimate-paths.ts';

export type WhatIfOptions = Readonly<{
  recipe: Recipe;
  printer: Printer;
  material: Material;
  infillShares?: readonly number[];
  perimeters?: readonly number[];
  layersMm?: readonly number[];
}>;

const INFILL_SHARES = [0, 0.05, 0.1, 0.15, 0.2, 0.4];
const PERIMETERS = [1, 2, 3, 4];
/** From here on package slice makes a solid of it. */
const SOLID_SHARE = 0.999;
/** A layer may be this share of the nozzle (check values B4: 25 to 75 %). */
const MOST_LAYER_PER_NOZZLE = 0.75;

/**
 * The piece at other shares of infill, numbers of perimeters and layer heights, all from real bead paths. A layer height is sliced and
 * supported once, its walls and solid layers are made once for each number of perimeters, and only infill and travel are made anew for
 * each row. Solid floors and roofs keep their thickness in mm. Rows are ordered by layer height, perimeters, infill.
 * @param mesh the posed piece
 */
export function whatIfRows(mesh: Mesh, polygons: Polygons, options: WhatIfOptions): WhatIfRow[] {
  const { recipe, printer, infillShares = withOwn(INFILL_SHARES, recipe.infillShare) } = options;
  const { perimeters = withOwn(PERIMETERS, recipe.perimeters) } = options;
  const { layersMm = [recipe.layerMm, otherLayerMm(recipe, printer)] } = options;
  return layersMm.flatMap((layerMm) => {
    const layered = withLayers(recipe, layerMm);
    const stack = layerStack(sliceMesh(mesh, layered), layered, polygons);
    return perimeters.flatMap((count) =>
      rowsOf(stack, { ...layered, perimeters: count }, infillShares, polygons, options),
    );
  });
}

/** The usual values and the recipe's own. */
const withOwn = (usual: readonly number[], own: number): number[] =>
  [...new Set([...usual, own])].sort((a, b) => a - b);

function rowsOf(
  stack: LayerStack,
  recipe: Recipe,
  infillShares: readonly number[],
  polygons: Polygons,
  { printer, material }: WhatIfOptions,
): WhatIfRow[] {
  // Solid all through is filled otherwise; such a row makes its own fills.
  const fillOf = layerFills(stack, { ...recipe, infillShare: 0 }, polygons);
  const fills = stack.regions.map((_, i) => fillOf(i));
  const span = roofSpan(stack, fills, polygons);
  return infillShares.map((infillShare) => {
    const used = { ...recipe, infillShare };
    const kept = infillShare < SOLID_SHARE ? { fills: (i: number) => fills[i] } : {};
    const paths = pathsOfStack(stack, used, polygons, kept);
    const estimate = estimatePaths(paths, { pieceId: '', recipe: used, printer, material });
    const { massG, durationS, partG, byKind } = estimate;
    const { layerMm, perimeters, roofLayers, floorLayers } = used;
    return {
      layerMm,
      perimeters,
      infillShare,
      roofLayers,
      floorLayers,
      massG,
      durationS,
      partG,
      byKind,
      ...roofFacts(used, span),
    };
  });
}

/** What a roof spans over this infill, and whether a bridge manages it. */
function roofFacts(recipe: Recipe, span: RoofSpan): Pick<WhatIfRow, 'roofSpanMm' | 'roofAtMm' | 'roofsClose'> {
  const roofSpanMm = Math.min(span.acrossMm, infillGapMm(recipe.infillShare, recipe.infillPattern, recipe));
  return { roofSpanMm, roofAtMm: span.zMm, roofsClose: roofSpanMm <= recipe.bridgeMm };
}

/** The next usual layer height above the recipe's, or below it where the nozzle allows no thicker one. */
export function otherLayerMm(recipe: Recipe, printer: Printer): number {
  const mostMm = MOST_LAYER_PER_NOZZLE * printer.nozzleMm;
  const twentieths = (mm: number): number => Math.round(20 * mm) / 20;
  const thicker = twentieths(1.4 * recipe.layerMm);
  return thicker > recipe.layerMm && thicker <= mostMm + 1e-9 ? thicker : twentieths(recipe.layerMm / 1.4);
}

function withLayers(recipe: Recipe, layerMm: number): Recipe {
  const layers = (n: number): number => Math.ceil((n * recipe.layerMm) / layerMm - 1e-9);
  return {
    ...recipe,
    layerMm,
    roofLayers: layers(recipe.roofLayers),
    floorLayers: layers(recipe.floorLayers),
  };
}
