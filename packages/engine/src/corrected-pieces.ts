import { calibrated } from '@stonehand/estimate';
import type { Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { estimatePieces, type SlicedPieces } from './estimate-pieces.ts';
import { type Learning, learningOf } from './learn.ts';
import type { PartOutcome } from './pieces.ts';
import { recordLines } from './record-lines.ts';

export type CorrectedPieces = SlicedPieces & Readonly<{ learning: Learning }>;

/** Pieces sliced, with their figures as the ledger corrects them: everything that is planned, bought or weighed starts from these. */
export async function correctedPieces(
  engine: Engine,
  workspace: Workspace,
  outcomes: readonly PartOutcome[],
): Promise<CorrectedPieces> {
  const modelled = await estimatePieces(engine, outcomes);
  const learning = learningOf(recordLines(workspace, modelled.pieces));
  const pieces = modelled.pieces.map((piece) => ({
    ...piece,
    estimates: piece.estimates.map((estimate) => calibrated(estimate, learning.of(estimate))),
  }));
  return { ...modelled, pieces, learning };
}
