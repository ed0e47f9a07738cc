import type { FitVerdict, Pose, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { partWorks } from './part-work.ts';
import { type PartOutcome, partOutcomes, type SearchBudget } from './pieces.ts';

/** `fit --json`: one row a file, best pose first. */
export type FitRowJson = Readonly<{
  file: string;
  partId: string;
  poses: readonly Pose[];
  fits: readonly FitVerdict[];
}>;

/** Poses and fit of every part on every printer, without slicing. */
export async function fitParts(engine: Engine, workspace: Workspace, budget: SearchBudget): Promise<PartOutcome[]> {
  return partOutcomes(engine, await partWorks(workspace, engine.content), workspace, budget);
}

export function fitRow({ part, poses, fits }: PartOutcome): FitRowJson {
  return { file: part.spec.meshFile, partId: part.spec.id, poses, fits };
}
