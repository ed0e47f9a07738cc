import type { FitVerdict, Printer, Workspace } from '@stonehand/model';
import type { Engine, Outcome } from './engine.ts';
import type { PartWork } from './part-work.ts';
import { type PartOutcome, type PieceWork, pieceOf, type SearchBudget, typed } from './piece-work.ts';
import { poseTask } from './pose-task.ts';
import { type SplitInput, type SplitOutcome, splitTask } from './split-task.ts';

/**
 * Cuts of parts that fit nowhere whole, or whose cuts were accepted, and the poses of their pieces: one search for each part
 * and printer ("two pieces on loft, three on bench"), of which the cheapest is taken; accepted cuts are made once, as they are.
 */
export async function splitParts(
  engine: Engine,
  outcomes: readonly PartOutcome[],
  workspace: Workspace,
  budget: SearchBudget,
): Promise<Map<PartWork, PartOutcome>> {
  const jobs = outcomes.flatMap(({ part }) =>
    workspace.accepted.cuts[part.spec.id] === undefined
      ? part.printers.map((printer) => ({ part, printers: [printer] }))
      : [{ part, printers: part.printers }],
  );
  const cuts = await engine.map(
    splitTask,
    jobs.map(({ part, printers }) => ({ ...splitInputOf(part, printers, workspace), ...budget })),
    'where to cut',
  );
  const results = new Map<PartWork, PartOutcome>();
  for (const outcome of outcomes) {
    const mine = jobs.flatMap((job, i) => (job.part === outcome.part ? [{ ...job, cut: cuts[i]! }] : []));
    results.set(outcome.part, await splitPart(engine, outcome, mine, budget));
  }
  return results;
}

/** What is asked of the cutting of a part: its accepted cuts as they are, or a search for these printers. */
export function splitInputOf(
  { spec, ref, recipe, material }: PartWork,
  printers: readonly Printer[],
  workspace: Pick<Workspace, 'accepted'>,
): Omit<SplitInput, 'seed'> {
  const accepted = workspace.accepted.cuts[spec.id];
  const joint = accepted?.find((plane) => plane.joint !== undefined)?.joint;
  return {
    partId: spec.id,
    mesh: ref!,
    recipe,
    printers: printers.map(({ id, usable, heightMm, keepOut }) => ({ id, usable, heightMm, keepOut })),
    filamentMm: material.diameterMm,
    ...(spec.showSide === undefined ? {} : { showSide: spec.showSide }),
    ...(accepted === undefined ? {} : { accepted: accepted.map(({ joint: _, ...plane }) => plane) }),
    ...(joint === undefined ? {} : { joint }),
  };
}

type Try = Readonly<{ printers: readonly Printer[]; cut: Outcome<SplitOutcome> }>;

async function splitPart(
  engine: Engine,
  outcome: PartOutcome,
  tries: readonly Try[],
  budget: SearchBudget,
): Promise<PartOutcome> {
  const { part } = outcome;
  const found = tries.flatMap(({ cut }) => (cut.ok ? [cut.value] : []));
  const best = found.reduce<SplitOutcome | undefined>(
    (a, b) => (a === undefined || (b.costMm3 ?? 0) < (a.costMm3 ?? 0) ? b : a),
    undefined,
  );
  if (best === undefined) {
    const faults = tries.flatMap(({ printers, cut }) =>
      cut.ok ? [] : [`${printers.map(({ id }) => id).join(', ')}: ${cut.fault.message}`],
    );
    return { ...outcome, why: `no way to cut it was found (${faults.join('; ')})` };
  }
  const pieces = await posedPieces(engine, part, best, budget);
  const whole = pieces.length === best.pieces.length;
  const { why: _, ...rest } = outcome;
  return {
    ...rest,
    fits: outcome.fits.map((fit) => verdictAfter(fit, tries, whole ? pieces : [])),
    pieces: whole ? pieces : [],
    planes: best.planes,
    split: best,
    searches: best.search === undefined ? [] : [best.search],
    ...(whole ? {} : { why: 'a piece it was cut into fits no printer in any pose' }),
  };
}

/** The pieces of a division in their best way up that fits a printer; one that fits none is missing. */
export async function posedPieces(
  engine: Engine,
  part: PartWork,
  cut: SplitOutcome,
  budget: SearchBudget,
): Promise<PieceWork[]> {
  const hulls = await engine.map(
    poseTask,
    cut.pieces.map(({ ref, up }) => ({
      mesh: ref,
      recipe: part.recipe,
      rule: 'bestOf' as const,
      ups: upsOf(cut, up),
      ...budget,
    })),
    'which way up, pieces',
  );
  return cut.pieces.flatMap(({ id, ref, partFromPiece }, i) => {
    const hull = hulls[i]!;
    if (!hull.ok) return [];
    return pieceOf(`${part.spec.id}/${id}`, part, ref, hull.value.map(typed), partFromPiece, cut.joints) ?? [];
  });
}

/** The way up it was planned in, and standing on its cut faces. */
function upsOf({ planes }: SplitOutcome, up: SplitOutcome['pieces'][number]['up']): NonNullable<typeof up>[] {
  const standing = planes.flatMap(({ normal: [x, y, z] }): NonNullable<typeof up>[] => [
    [x, y, z],
    [-x, -y, -z],
  ]);
  return up === undefined ? standing : [up];
}

/** A printer's own search says how many pieces; accepted cuts fit it when every piece does. */
function verdictAfter(fit: FitVerdict, tries: readonly Try[], pieces: PartOutcome['pieces']): FitVerdict {
  const mine = tries.find(({ printers }) => printers.some(({ id }) => id === fit.printerId));
  if (mine === undefined || !mine.cut.ok) return fit;
  const searched = mine.cut.value.search !== undefined;
  const goes = searched || (pieces.length > 0 && pieces.every(({ turns }) => turns[fit.printerId] !== undefined));
  // One piece is no cut: it goes in whole, leaning.
  return goes && mine.cut.value.pieces.length > 1
    ? { ...fit, verdict: 'split', pieces: mine.cut.value.pieces.filter(({ key }) => key !== true).length }
    : fit;
}
