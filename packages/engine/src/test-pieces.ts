import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';
import type { PlateChoices } from './plate-choices.ts';

/**
 * By plate, the plates with test pieces that must be off the printer before it. A plate that holds both its test piece and the
 * part itself waits for nothing: its owner, or packing, chose so.
 */
export function testPiecesFirst(
  choices: readonly PlateChoices[],
  pieces: ReadonlyMap<string, SlicedPiece>,
): ReadonlyMap<string, readonly string[]> {
  const tests = new Map<string, Set<string>>();
  for (const { plate } of choices)
    for (const { copyId } of plate.placed)
      for (const proven of pieces.get(pieceIdOf(copyId))!.work.part.spec.proves ?? [])
        tests.set(proven, (tests.get(proven) ?? new Set()).add(plate.id));
  return new Map(
    choices.map(({ plate }) => {
      const before = plate.placed.flatMap(({ copyId }) => [
        ...(tests.get(pieces.get(pieceIdOf(copyId))!.piece.partId) ?? []),
      ]);
      return [plate.id, before.includes(plate.id) ? [] : [...new Set(before)]];
    }),
  );
}
