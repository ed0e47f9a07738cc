import type { Printer, Recipe } from '@stonehand/model';
import { moveSeconds } from './path-seconds.ts';

export type PlateOfCopies = Readonly<{
  /** Estimate.layerS of every copy on the plate (unslowed, layer change included) */
  layerS: readonly (readonly number[])[];
  recipe: Recipe;
  printer: Printer;
  /** mean distance from one copy to the next; unknown until they are placed */
  hopMm?: number;
}>;

/** From the middle of one hand-sized part to the next on a 220 to 300 mm plate (no source). */
const HOP_MM = 60;

/**
 * Seconds for copies printed together, layer by layer: their unslowed layers are added, one layer change is counted instead of one
 * each, a travel leads from copy to copy, and only then is the layer held to its least time. Warm-up counts once.
 */
export function plateSeconds({ layerS, recipe, printer, hopMm = HOP_MM }: PlateOfCopies): number {
  if (layerS.length === 0) return 0;
  const hopS = hopSeconds(printer, hopMm);
  const layers = layerS.reduce((most, copy) => Math.max(most, copy.length), 0);
  let sum = printer.warmUpS;
  for (let i = 0; i < layers; i++) {
    let seconds = 0;
    let copies = 0;
    for (const copy of layerS) {
      if (i >= copy.length) continue;
      seconds += copy[i];
      copies++;
    }
    seconds += (copies - 1) * (hopS - printer.layerChangeS);
    sum += Math.max(seconds, recipe.leastLayerS);
  }
  return sum;
}

/** One travel from rest to rest with the filament pulled back. */
export function hopSeconds(printer: Printer, hopMm: number = HOP_MM): number {
  return printer.pullBackS + moveSeconds(hopMm, 0, 0, printer.speedMmS.travel, printer.accelMmS2.travel);
}
