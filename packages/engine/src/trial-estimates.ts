import { estimatePaths, type TrialPrint, trialPrints } from '@stonehand/estimate';
import type { Estimate, Material, Printer, Recipe } from '@stonehand/model';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';

/** A trial print and what the model says of it, before any correction. */
export type TrialEstimate = Readonly<{ print: TrialPrint; estimate: Estimate }>;

/** The three trial prints as this printer would print them. */
export async function trialEstimates(recipe: Recipe, printer: Printer, material: Material): Promise<TrialEstimate[]> {
  const polygons = await loadPolygons();
  return trialPrints(recipe).map((print) => {
    const paths = beadPaths(sliceMesh(print.mesh, print.recipe), print.recipe, polygons);
    return { print, estimate: estimatePaths(paths, { pieceId: print.id, recipe: print.recipe, printer, material }) };
  });
}
