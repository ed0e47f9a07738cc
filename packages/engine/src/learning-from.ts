import type { LedgerEntry, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { estimatePieces, type SlicedPiece } from './estimate-pieces.ts';
import { type Learning, learningOf } from './learn.ts';
import { partWorks } from './part-work.ts';
import { partOutcomes } from './pieces.ts';
import { recordLines } from './record-lines.ts';

/**
 * What the ledger of a workspace taught, without planning it: only parts that the ledger has figures of are posed and sliced, in the same
 * cached steps as a plan.
 */
export async function learningFrom(engine: Engine, workspace: Workspace): Promise<Learning> {
  const copyIds = workspace.ledger.filter(hasFigures).flatMap((entry) => entry.copyIds ?? []);
  return learningOf(recordLines(workspace, await piecesOfCopies(engine, workspace, copyIds)));
}

/** The sliced pieces of some copies, uncorrected. */
export async function piecesOfCopies(
  engine: Engine,
  workspace: Workspace,
  copyIds: readonly string[],
): Promise<readonly SlicedPiece[]> {
  const ids = [...new Set(copyIds.map((copyId) => copyId.slice(0, copyId.lastIndexOf('#'))))];
  if (ids.length === 0) return [];
  const works = await partWorks(engine, workspace);
  // "part/b" is a piece of a part that is cut.
  const wanted = works.filter(({ spec }) => ids.some((id) => id === spec.id || id.startsWith(`${spec.id}/`)));
  const outcomes = await partOutcomes(engine, wanted, workspace, { seed: workspace.seed });
  return (await estimatePieces(engine, outcomes)).pieces;
}

function hasFigures({ massG, durationS, expected }: LedgerEntry): boolean {
  return expected === undefined && (massG !== undefined || durationS !== undefined);
}
