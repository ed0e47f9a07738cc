import type { MassReport, Workspace } from '@stonehand/model';
import { assemblyMasses } from './assembly-masses.ts';
import type { Engine } from './engine.ts';
import { estimatePieces, type SlicedPiece } from './estimate-pieces.ts';
import { partWorks } from './part-work.ts';
import { type PartOutcome, partOutcomes } from './pieces.ts';

/** What everything weighs, and the sliced pieces it was weighed from. */
export type WeighResult = Readonly<{
  mass: readonly MassReport[];
  pieces: readonly SlicedPiece[];
  parts: readonly PartOutcome[];
}>;

/** The line as far as the mass: poses, cuts, slices; no plates and no queue. The same figures as the plan's. */
export async function weighWorkspace(engine: Engine, workspace: Workspace): Promise<WeighResult> {
  const works = await partWorks(workspace, engine.content);
  const parts = await partOutcomes(engine, works, workspace, { seed: workspace.seed });
  const { pieces } = await estimatePieces(engine, parts);
  return { mass: await assemblyMasses(engine, workspace, parts, pieces), pieces, parts };
}
