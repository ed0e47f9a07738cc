import type { FinishingChain } from '@stonehand/schedule';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';
import type { PlateChoices } from './plate-choices.ts';
import type { Now } from './under-way.ts';

/**
 * Finishing of every part that has pieces still to be printed or on a printer: it begins when the last of them is off. What was
 * all printed before is the owner's to know, and is not planned.
 */
export function finishingChains(
  choices: readonly PlateChoices[],
  { pieces, now }: Readonly<{ pieces: ReadonlyMap<string, SlicedPiece>; now: Now }>,
): FinishingChain[] {
  const plates = new Map<string, Set<string>>();
  const onPlates = [...choices.map(({ plate }) => plate), ...now.plates];
  for (const plate of onPlates) {
    for (const { copyId } of plate.placed) {
      const partId = pieces.get(pieceIdOf(copyId))?.piece.partId;
      if (partId === undefined) continue;
      plates.set(partId, (plates.get(partId) ?? new Set()).add(plate.id));
    }
  }
  const specs = new Map([...pieces.values()].map(({ work }) => [work.part.spec.id, work.part.spec]));
  return [...plates].flatMap(([partId, ids]): FinishingChain[] => {
    const { name, finishing } = specs.get(partId)!;
    if (finishing.length === 0) return [];
    const steps = finishing.map(({ what, handsOnMin, waitMin }) => ({
      what,
      handsOnS: 60 * handsOnMin,
      waitS: 60 * waitMin,
    }));
    return [{ id: partId, name, plateIds: [...ids].sort(), steps }];
  });
}
