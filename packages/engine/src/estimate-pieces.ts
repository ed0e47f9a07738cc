import type { Estimate, Piece, Ring } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { estimateTask } from './estimate-task.ts';
import type { PartOutcome, PieceWork } from './pieces.ts';

/** A piece with its figures on every printer it may go to. */
export type SlicedPiece = Readonly<{
  work: PieceWork;
  piece: Piece;
  estimates: readonly Estimate[];
  /** the footprint as packing sees it */
  outline: readonly Ring[];
}>;

export type SlicedPieces = Readonly<{
  pieces: readonly SlicedPiece[] /** by piece id, why it could not be sliced */;
  faults: ReadonlyMap<string, string>;
}>;

/** Slices every piece in its pose, once for all its printers. */
export async function estimatePieces(engine: Engine, outcomes: readonly PartOutcome[]): Promise<SlicedPieces> {
  const works = outcomes.flatMap(({ pieces }) => pieces);
  const results = await engine.map(
    estimateTask,
    works.map(({ id, ref, pose, part, printers }) => ({
      pieceId: id,
      mesh: ref,
      pose,
      recipe: part.recipe,
      material: part.material,
      printers,
      // Boxes are in the whole part's coordinates; a cut part is supported as its recipe says.
      ...(typeof part.spec.support === 'object' && id === part.spec.id && { supportIn: part.spec.support }),
    })),
    'slicing',
  );
  const pieces: SlicedPiece[] = [];
  const faults = new Map<string, string>();
  for (const [i, work] of works.entries()) {
    const result = results[i]!;
    if (!result.ok) {
      faults.set(work.id, result.fault.message);
      continue;
    }
    const { footprint, outline, estimates } = result.value;
    const { spec } = work.part;
    pieces.push({
      work,
      outline,
      estimates: estimates.map((estimate) => ({ ...estimate, pieceId: work.id })),
      piece: {
        id: work.id,
        partId: spec.id,
        meshHash: work.ref.contentHash,
        quantity: spec.quantity,
        materialId: spec.materialId,
        recipeId: spec.recipeId,
        pose: work.pose,
        footprint,
        partFromPiece: work.partFromPiece,
        joints: work.joints,
      },
    });
  }
  return { pieces, faults };
}
