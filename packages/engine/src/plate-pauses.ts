import { plateSeconds } from '@stonehand/estimate';
import type { Plate, Workspace } from '@stonehand/model';
import type { PlateToRun } from '@stonehand/schedule';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';

type Pauses = NonNullable<PlateToRun['pauses']>;

/**
 * When a plate's run must wait for bought items to be put in: at the first layer above their height, after the seconds that all of
 * the plate's layers below it take, on each printer the plate may go to.
 */
export function platePauses(
  plates: readonly Plate[],
  { workspace, pieces }: Readonly<{ workspace: Workspace; pieces: ReadonlyMap<string, SlicedPiece> }>,
): Pauses {
  const { placed, recipeId } = plates[0]!;
  const recipe = workspace.recipes.find(({ id }) => id === recipeId)!;
  const heights = new Map<number, string[]>();
  for (const { copyId } of placed) {
    const { spec } = pieces.get(pieceIdOf(copyId))!.work.part;
    for (const { itemId, atMm } of spec.putIn ?? [])
      heights.set(atMm, [...(heights.get(atMm) ?? []), `${itemId} into ${spec.name}`]);
  }
  return [...heights]
    .sort((a, b) => a[0] - b[0])
    .map(([atMm, items]) => {
      const layers = Math.max(1, Math.ceil((atMm - recipe.firstLayerMm) / recipe.layerMm - 1e-9) + 1);
      const atS = plates.map(({ printerId }): [string, number] => {
        const printer = workspace.printers.find(({ id }) => id === printerId)!;
        const layerS = placed.map(({ copyId }) => {
          const { estimates } = pieces.get(pieceIdOf(copyId))!;
          return estimates.find((estimate) => estimate.printerId === printerId)!.layerS.slice(0, layers);
        });
        return [printerId, Math.round(plateSeconds({ layerS, recipe, printer }))];
      });
      return { says: `put ${items.join(' and ')}, before layer ${layers + 1}`, atS: Object.fromEntries(atS) };
    });
}
