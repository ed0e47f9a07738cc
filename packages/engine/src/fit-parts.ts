import type { FitVerdict, Pose, Reading, SupportCause, Vec3, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { type FitFacts, fitFactsTask } from './fit-facts-task.ts';
import { itemsApart } from './items-apart.ts';
import { partReadings } from './part-readings.ts';
import { partWorks } from './part-work.ts';
import { type PartOutcome, type PoseBudget, partOutcomes } from './pieces.ts';

/** `fit --json`: one row a file, best pose first. */
export type FitRowJson = Readonly<{
  file: string;
  partId: string;
  poses: readonly Pose[];
  fits: readonly FitVerdict[];
  /** of the best pose, its brim included */
  smallestBedMm?: Vec3;
  /** what needs most of the best pose's support */
  causes?: readonly SupportCause[];
  /** for printers that no listed pose fits: whole, but leaning */
  leaning?: FitFacts['leaning'];
}>;

export type FitOutcome = PartOutcome & Readonly<{ facts?: FitFacts }>;

/** Poses and fit of every part on every printer, without slicing, and what people ask about the best pose. */
export async function fitParts(engine: Engine, workspace: Workspace, budget: PoseBudget): Promise<FitOutcome[]> {
  const apart = await itemsApart(engine, workspace);
  const outcomes = await partOutcomes(engine, await partWorks(engine, apart), apart, budget);
  const known = outcomes.filter(
    ({ poses, hulls, part }) => part.ref !== undefined && poses.length > 0 && hulls !== undefined,
  );
  const facts = await engine.map(
    fitFactsTask,
    known.map(({ part, poses, hulls, fits }) => {
      const nowhere = new Set(
        fits.filter(({ verdict }) => verdict === 'no' || verdict === 'split').map((f) => f.printerId),
      );
      return {
        mesh: part.ref!,
        recipe: part.recipe,
        pose: poses[0]!,
        hullXY: hulls![0]!,
        leanOn: part.printers.filter(({ id }) => nowhere.has(id)),
        seed: budget.seed,
      };
    }),
    'what it takes',
  );
  const of = new Map(known.map((outcome, i) => [outcome, facts[i]!]));
  return outcomes.map((outcome) => {
    const found = of.get(outcome);
    return found?.ok ? { ...outcome, fits: withLeaning(outcome.fits, found.value), facts: found.value } : outcome;
  });
}

/** The readings of these parts as they are printed; those that cannot be read are left out. */
export async function readingsOfParts(engine: Engine, outcomes: readonly PartOutcome[]): Promise<Reading[]> {
  const works = outcomes.map(({ part }) => part).filter(({ ref }) => ref !== undefined);
  const readings = await partReadings(engine, works);
  return readings.flatMap((outcome) => (outcome.ok ? [outcome.value] : []));
}

/** What fits in no listed way but leaning is tipped too; the reason tells how far it may lean before it falls. */
function withLeaning(fits: readonly FitVerdict[], { leaning }: FitFacts): FitVerdict[] {
  return fits.map((fit) => {
    const pose = leaning.find(({ printerId }) => printerId === fit.printerId)?.pose;
    if (fit.verdict !== 'no' || pose === undefined) return fit;
    const { partId, printerId, refused } = fit;
    return { partId, printerId, verdict: 'tipped', poseId: pose.id, why: pose.reason, ...(refused && { refused }) };
  });
}

export function fitRow({ part, poses, fits, facts }: FitOutcome): FitRowJson {
  return {
    file: part.spec.meshFile,
    partId: part.spec.id,
    poses,
    fits,
    ...(facts && { smallestBedMm: facts.smallestBedMm, causes: facts.causes }),
    ...(facts && facts.leaning.length > 0 && { leaning: facts.leaning }),
  };
}
