import type { FitVerdict, Pose, Reading, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { itemsApart } from './items-apart.ts';
import { partReadings } from './part-readings.ts';
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
  const apart = await itemsApart(engine, workspace);
  return partOutcomes(engine, await partWorks(engine, apart), apart, budget);
}

/** The readings of these parts as they are printed; those that cannot be read are left out. */
export async function readingsOfParts(engine: Engine, outcomes: readonly PartOutcome[]): Promise<Reading[]> {
  const works = outcomes.map(({ part }) => part).filter(({ ref }) => ref !== undefined);
  const readings = await partReadings(engine, works);
  return readings.flatMap((outcome) => (outcome.ok ? [outcome.value] : []));
}

export function fitRow({ part, poses, fits }: PartOutcome): FitRowJson {
  return { file: part.spec.meshFile, partId: part.spec.id, poses, fits };
}
