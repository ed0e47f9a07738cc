import type { MassReport, Vec3, Workspace } from '@stonehand/model';
import { assemblyMasses } from './assembly-masses.ts';
import { correctedPieces } from './corrected-pieces.ts';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import type { Learning } from './learn.ts';
import { outlinesOf } from './outline-task.ts';
import { partWorks } from './part-work.ts';
import { type PartOutcome, partOutcomes } from './pieces.ts';

/** What everything weighs, and the sliced pieces it was weighed from. */
export type WeighResult = Readonly<{
  mass: readonly MassReport[];
  pieces: readonly SlicedPiece[];
  parts: readonly PartOutcome[];
  learning: Learning;
  /** by part id, for drawings */
  shapes: Readonly<Record<string, readonly Vec3[]>>;
}>;

/** The line as far as the mass: poses, cuts, slices; no plates and no queue. The same figures as the plan's. */
export async function weighWorkspace(engine: Engine, workspace: Workspace): Promise<WeighResult> {
  const works = await partWorks(engine, workspace);
  const parts = await partOutcomes(engine, works, workspace, { seed: workspace.seed });
  const { pieces, learning } = await correctedPieces(engine, workspace, parts);
  const mass = await assemblyMasses(engine, workspace, parts, pieces);
  return { mass, pieces, parts, learning, shapes: await outlinesOf(engine, parts) };
}
