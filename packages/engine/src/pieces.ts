import { IDENTITY_AFFINE } from '@stonehand/base';
import type { FitVerdict, PartSpec, Printer, Ring, Workspace } from '@stonehand/model';
import { fitVerdict, type PosedHull } from '@stonehand/orient';
import type { Engine, Outcome } from './engine.ts';
import { trueOutlineTask } from './fit-facts-task.ts';
import type { PartWork } from './part-work.ts';
import { type PartOutcome, type PoseBudget, pieceOf, typed } from './piece-work.ts';
import { type PoseAndHull, type PoseInput, poseTask } from './pose-task.ts';
import { splitParts } from './split-parts.ts';

export type { PartOutcome, PieceWork, PoseBudget, SearchBudget } from './piece-work.ts';

/**
 * Poses, fit on every printer and, for a part that fits nowhere whole, cuts and the poses of the pieces.
 * A part that is not printed here gets its poses too: its shape counts in the balance.
 */
export async function partOutcomes(
  engine: Engine,
  works: readonly PartWork[],
  workspace: Workspace,
  { weights, ...budget }: PoseBudget,
): Promise<PartOutcome[]> {
  const posed = works.filter((work) => work.ref !== undefined);
  const poses = await engine.map(
    poseTask,
    posed.map((work) => {
      const accepted = workspace.accepted.poses[work.spec.id]?.rotation;
      return {
        mesh: work.ref!,
        recipe: work.recipe,
        rule: work.spec.pose,
        ...(accepted === undefined ? {} : { accepted }),
        ...rulesOf(work.spec),
        ...(weights && { weights }),
        ...budget,
      };
    }),
    'which way up',
  );
  const whole = new Map<PartWork, Outcome<readonly PoseAndHull[]>>(posed.map((work, i) => [work, poses[i]!]));
  const byHull = works.map((work) => wholePart(work, whole.get(work), workspace.printers));
  const outlines = await trueOutlines(engine, byHull);
  const first = byHull.map((outcome) => {
    const known = outlines.get(outcome.part);
    return known === undefined ? outcome : wholePart(outcome.part, whole.get(outcome.part), workspace.printers, known);
  });
  const toSplit = first.filter((outcome) => mustBeSplit(outcome, workspace));
  const split = await splitParts(engine, toSplit, workspace, budget);
  return first.map((outcome) => split.get(outcome.part) ?? outcome);
}

/** What a part says of its ways up. */
function rulesOf({
  downs,
  load,
  showSide,
  support,
}: PartSpec): Pick<PoseInput, 'downs' | 'load' | 'showSide' | 'supportIn'> {
  return {
    ...(downs && { downs }),
    ...(load && { load }),
    ...(showSide && { showSide }),
    ...(typeof support === 'object' && { supportIn: support }),
  };
}

const MOST_OUTLINES = 3;

/** Where only a kept-out area of a plate stood in the way of the hull, the true outlines of the first ways up. */
async function trueOutlines(
  engine: Engine,
  outcomes: readonly PartOutcome[],
): Promise<Map<PartWork, readonly (readonly Ring[])[]>> {
  const jobs = outcomes
    .filter(({ fits }) => fits.some(({ verdict, overMm }) => verdict === 'no' && overMm?.every((mm) => mm <= 0)))
    .flatMap(({ part, poses }) => poses.slice(0, MOST_OUTLINES).map((pose) => ({ part, mesh: part.ref!, pose })));
  const drawn = await engine.map(
    trueOutlineTask,
    jobs.map(({ mesh, pose }) => ({ mesh, pose })),
    'outlines beside kept-out corners',
  );
  const found = new Map<PartWork, (readonly Ring[])[]>();
  for (const [k, { part }] of jobs.entries()) {
    const outline = drawn[k]!;
    found.set(part, [...(found.get(part) ?? []), outline.ok ? outline.value : []]);
  }
  return found;
}

function wholePart(
  part: PartWork,
  outcome: Outcome<readonly PoseAndHull[]> | undefined,
  printers: readonly Printer[],
  outlines: readonly (readonly Ring[])[] = [],
): PartOutcome {
  const none = { part, poses: [], fits: [], pieces: [], searches: [] };
  if (outcome === undefined) return part.fault === undefined ? none : { ...none, why: part.fault.message };
  if (!outcome.ok) return { ...none, why: outcome.fault.message, fault: outcome.fault };
  const hulls = outcome.value.map((one, i) => ({ ...typed(one), ...(outlines[i] && { outline: outlines[i] }) }));
  const fits = printers.map((printer) => verdictOn(part, hulls, printer));
  const piece = pieceOf(part.spec.id, part, part.ref!, hulls, IDENTITY_AFFINE, []);
  const why = piece === undefined ? whyNowhere(part) : undefined;
  return {
    part,
    poses: hulls.map(({ pose }) => pose),
    hulls: outcome.value.map(({ hullXY }) => hullXY),
    fits,
    pieces: piece === undefined ? [] : [piece],
    searches: [],
    ...(why === undefined ? {} : { why }),
  };
}

function verdictOn(part: PartWork, hulls: readonly PosedHull[], printer: Printer): FitVerdict {
  const verdict = fitVerdict(part.spec.id, hulls, printer, part.recipe);
  const refusal = part.refusals.find((candidate) => candidate.printerId === printer.id);
  return refusal === undefined ? verdict : { ...verdict, refused: refusal.why };
}

function whyNowhere(part: PartWork): string {
  if (part.printers.length === 0)
    return `no printer can print it: ${part.refusals.map(({ printerId, why }) => `${printerId}: ${why}`).join('; ')}`;
  return 'it fits no printer whole';
}

function mustBeSplit({ part, poses, pieces }: PartOutcome, workspace: Workspace): boolean {
  if (poses.length === 0 || part.printers.length === 0) return false;
  if (workspace.accepted.cuts[part.spec.id] !== undefined) return true;
  return pieces.length === 0 && part.spec.split === 'auto';
}
