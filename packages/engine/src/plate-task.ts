import { plateSeconds } from '@stonehand/estimate';
import type { Printer, Recipe, Search } from '@stonehand/model';
import { type KeptPlate, type NestItem, type PlateDraft, type PlatesAim, packPlates } from '@stonehand/nest';
import type { Task } from './engine.ts';

export type PlateInput = Readonly<{
  items: readonly NestItem[];
  printers: readonly Printer[];
  recipes: readonly Recipe[];
  /** seconds of each layer, under "piece printer" */
  layers: Readonly<Record<string, readonly number[]>>;
  aim: PlatesAim;
  /** accepted plates */
  kept: readonly KeptPlate[];
  rounds?: number;
  seed: number;
}>;

export type PlateOutcome = Readonly<{
  plates: readonly PlateDraft[];
  unplaced: readonly Readonly<{ copyId: string; reason: string }>[];
  searches: readonly Search[];
  notes: readonly string[];
}>;

/** Gap between two pieces on a plate: room for a finger of brim and for the nozzle's skirt (common practice, no source). */
export const CLEARANCE_MM = 3;

export const plateTask: Task<PlateInput, PlateOutcome> = {
  name: 'plates',
  keyed: (input) => input,
  async run({ items, printers, recipes, layers, rounds, seed, aim, kept }) {
    const recipeOf = new Map(recipes.map((recipe) => [recipe.id, recipe]));
    const layersOf = ({ copyId }: NestItem, printer: Printer): readonly number[] =>
      layers[`${copyId.slice(0, copyId.lastIndexOf('#'))} ${printer.id}`]!;
    return packPlates(items, printers, {
      clearanceMm: CLEARANCE_MM,
      ...(rounds === undefined ? {} : { rounds }),
      seed,
      aim,
      kept,
      // With others on its plate a copy shares the layer changes, and no more.
      leastSeconds: (on, printer) =>
        on.reduce(
          (sum, item) =>
            layersOf(item, printer).reduce((all, layerS) => all + Math.max(0, layerS - printer.layerChangeS), sum),
          0,
        ),
      plateSeconds: (on, printer) =>
        plateSeconds({
          layerS: on.map((item) => layersOf(item, printer)),
          recipe: recipeOf.get(on[0]!.recipeId)!,
          printer,
        }),
    });
  },
  keep: ({ searches }) => searches.every(({ ended }) => ended === 'proven' || ended === 'rounds'),
};
