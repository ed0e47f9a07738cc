import type { PlateSaving } from '@stonehand/model';
import { hopSeconds, type PlateOfCopies, plateSeconds } from './plate-seconds.ts';

/**
 * Why copies printed together take another time than one after the other, in seconds: alone − together = warm-ups, layer changes and waiting that are
 * counted once, less the travel from copy to copy. Exact: the four add up.
 */
export function plateSaving(plate: PlateOfCopies): PlateSaving {
  const { layerS, recipe, printer } = plate;
  const together = plateSeconds(plate);
  const alone = layerS.reduce((sum, copy) => sum + plateSeconds({ ...plate, layerS: [copy] }), 0);
  const changes = copiesTogether(layerS).reduce((sum, copies) => sum + copies - 1, 0);
  const warmUpS = Math.max(0, layerS.length - 1) * printer.warmUpS;
  const layerChangesS = changes * printer.layerChangeS;
  const travelS = changes * hopSeconds(printer, plate.hopMm);
  const waits = (seconds: number): number => Math.max(0, recipe.leastLayerS - seconds);
  const waitingAlone = layerS.reduce((sum, copy) => sum + copy.reduce((all, s) => all + waits(s), 0), 0);
  const waitingTogether = together - unslowedS(plate);
  return {
    aloneS: alone,
    togetherS: together,
    warmUpS,
    layerChangesS,
    waitingS: waitingAlone - waitingTogether,
    travelS,
  };
}

/** How many copies have a layer at each height. */
function copiesTogether(layerS: readonly (readonly number[])[]): number[] {
  const layers = layerS.reduce((most, copy) => Math.max(most, copy.length), 0);
  return Array.from({ length: layers }, (_, i) => layerS.filter((copy) => i < copy.length).length);
}

function unslowedS(plate: PlateOfCopies): number {
  return plateSeconds({ ...plate, recipe: { ...plate.recipe, leastLayerS: 0 } });
}
