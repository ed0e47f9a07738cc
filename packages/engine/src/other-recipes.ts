import { calibrated } from '@stonehand/estimate';
import type { PieceRecipes, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { learningFrom } from './learning-from.ts';
import { offersTask } from './offers-task.ts';

/** What the pieces of some parts come to by other recipes, each on the first printer it fits, corrected as the plan's figures are. */
export async function otherRecipes(
  engine: Engine,
  workspace: Workspace,
  pieces: readonly SlicedPiece[],
  partIds: readonly string[],
): Promise<PieceRecipes[]> {
  const wanted = pieces.filter(({ piece }) => partIds.includes(piece.partId));
  if (wanted.length === 0) return [];
  const learning = await learningFrom(engine, workspace);
  const outcomes = await engine.map(
    offersTask,
    wanted.map(({ work: { ref, pose, part, printers } }) => ({
      mesh: ref,
      pose,
      recipe: part.recipe,
      material: part.material,
      printer: printers[0]!,
      whatIf: true,
    })),
    'other recipes',
  );
  return wanted.flatMap(({ piece, work: { part, printers } }, i) => {
    const outcome = outcomes[i]!;
    if (!outcome.ok) return [];
    const printerId = printers[0]!.id;
    const learnt = learning.of({ materialId: part.material.id, printerId });
    const rows = (outcome.value.whatIf ?? []).map((row) => {
      const { byKind: _, ...shown } = calibrated(row, learnt);
      return shown;
    });
    return [{ pieceId: piece.id, printerId, rows }];
  });
}
