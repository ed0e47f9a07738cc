import { IDENTITY_AFFINE } from '@stonehand/base';
import type {
  Fault,
  FitVerdict,
  Joint,
  PartSpec,
  Pose,
  Printer,
  Recipe,
  Ring,
  Search,
  Workspace,
} from '@stonehand/model';
import { fitHull, fitVerdict, type PosedHull } from '@stonehand/orient';
import type { Plane } from '@stonehand/split';
import type { Engine, Outcome } from './engine.ts';
import { trueOutlineTask } from './fit-facts-task.ts';
import type { MeshRef } from './mesh-ref.ts';
import type { PartWork } from './part-work.ts';
import { type PoseAndHull, type PoseInput, poseTask } from './pose-task.ts';
import { splitTask } from './split-task.ts';

/** Each search has its own measure of a round and its own default; a stated number replaces them all. */
export interface SearchBudget {
  readonly rounds?: number;
  readonly seed: number;
}

/** What counts for a way up can be asked for: support alone. */
export type PoseBudget = SearchBudget & Readonly<{ weights?: 'support' }>;

/** A piece before it is sliced: its mesh, its pose, and the printers on which that pose fits. */
export type PieceWork = Readonly<{
  id: string;
  part: PartWork;
  ref: MeshRef;
  pose: Pose;
  printers: readonly Printer[];
  /** by printer: a turn about z at which it fits, and whether only just, so that its outline must not be grown */
  turns: Readonly<Record<string, TurnThatFits>>;
  partFromPiece: readonly number[];
  joints: readonly Joint[];
}>;

type TurnThatFits = Readonly<{ turnDeg: number; tight: boolean }>;

/** More than packing grows an outline by when it drops corners. */
const ROOM_MM = 2.5;
const TIGHT_MM = 0.05;

/** What is known of a part after the questions "which way up" and "does it fit". */
export type PartOutcome = Readonly<{
  part: PartWork;
  poses: readonly Pose[];
  /** of each pose the hull of its shadow, x, y pairs */
  hulls?: readonly (readonly number[])[];
  fits: readonly FitVerdict[];
  pieces: readonly PieceWork[];
  searches: readonly Search[];
  /** where it is cut, when it is */
  planes?: readonly Plane[];
  /** why no piece of it can be printed, for people */
  why?: string;
  fault?: Fault;
}>;

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

// Hulls travel as plain numbers.
function typed({ pose, hullXY }: PoseAndHull): PosedHull {
  return { pose, hullXY: Float64Array.from(hullXY) };
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

/** The best pose that fits at least one of the printers, with all printers on which that pose fits. */
function pieceOf(
  id: string,
  part: PartWork,
  ref: MeshRef,
  hulls: readonly PosedHull[],
  partFromPiece: readonly number[],
  joints: readonly Joint[],
): PieceWork | undefined {
  for (const { pose, hullXY, outline } of hulls) {
    const turns: Record<string, TurnThatFits> = {};
    for (const printer of part.printers) {
      const turn = turnThatFits(pose, hullXY, printer, part.recipe, outline);
      if (turn !== undefined) turns[printer.id] = turn;
    }
    const printers = part.printers.filter((printer) => turns[printer.id] !== undefined);
    if (printers.length > 0) return { id, part, ref, pose, printers, turns, partFromPiece, joints };
  }
  return undefined;
}

// Asked first for a turn with room to spare: at the exact limit of a fit nothing may be rounded.
function turnThatFits(
  pose: Pose,
  hullXY: Float64Array,
  printer: Printer,
  recipe: Recipe,
  outline: readonly Ring[] = [],
): TurnThatFits | undefined {
  if (pose.heightMm > printer.heightMm) return undefined;
  for (const roomMm of [ROOM_MM, TIGHT_MM, 0]) {
    const fit = fitHull(hullXY, printer.usable, {
      brimMm: recipe.brimMm + roomMm,
      keepOut: printer.keepOut,
      outline,
    });
    if (fit.fits) return { turnDeg: fit.turnDeg, tight: roomMm < ROOM_MM };
  }
  return undefined;
}

async function splitParts(
  engine: Engine,
  outcomes: readonly PartOutcome[],
  workspace: Workspace,
  budget: SearchBudget,
): Promise<Map<PartWork, PartOutcome>> {
  // One search for each part and printer: the answer to "two pieces on loft, three on bench".
  const jobs = outcomes.flatMap((outcome) => outcome.part.printers.map((printer) => ({ outcome, printer })));
  const cuts = await engine.map(
    splitTask,
    jobs.map(({ outcome: { part }, printer }) => {
      const accepted = workspace.accepted.cuts[part.spec.id];
      return {
        partId: part.spec.id,
        mesh: part.ref!,
        printers: [printer],
        brimMm: part.recipe.brimMm,
        ...(accepted === undefined ? {} : { accepted }),
        ...budget,
      };
    }),
    'where to cut',
  );
  const results = new Map<PartWork, PartOutcome>();
  for (const outcome of outcomes) {
    const mine = jobs.flatMap((job, i) => (job.outcome === outcome ? [{ printer: job.printer, cut: cuts[i]! }] : []));
    const fits = outcome.fits.map((fit): FitVerdict => {
      const cut = mine.find(({ printer }) => printer.id === fit.printerId)?.cut;
      // One piece is no cut: it goes in whole, leaning.
      return cut?.ok && cut.value.pieces.length > 1
        ? { ...fit, verdict: 'split', pieces: cut.value.pieces.length }
        : fit;
    });
    const fewest = mine
      .flatMap(({ cut }) => (cut.ok ? [cut.value] : []))
      .sort((a, b) => a.pieces.length - b.pieces.length)[0];
    if (fewest === undefined) {
      const faults = mine.flatMap(({ printer, cut }) => (cut.ok ? [] : [`${printer.id}: ${cut.fault.message}`]));
      results.set(outcome.part, { ...outcome, fits, why: `no way to cut it was found (${faults.join('; ')})` });
      continue;
    }
    const { part } = outcome;
    const hulls = await engine.map(
      poseTask,
      fewest.pieces.map(({ ref }) => ({ mesh: ref, recipe: part.recipe, rule: 'auto' as const, ...budget })),
      'which way up, pieces',
    );
    const pieces = fewest.pieces.map(({ id, ref, partFromPiece }, i) => {
      const outcomeOfPiece = hulls[i]!;
      return outcomeOfPiece.ok
        ? pieceOf(`${part.spec.id}/${id}`, part, ref, outcomeOfPiece.value.map(typed), partFromPiece, fewest.joints)
        : undefined;
    });
    const whole = pieces.every((piece) => piece !== undefined);
    const { why: _, ...rest } = outcome;
    results.set(part, {
      ...rest,
      fits,
      pieces: whole ? pieces : [],
      planes: fewest.planes,
      searches: fewest.search === undefined ? [] : [fewest.search],
      ...(whole ? {} : { why: 'a piece it was cut into fits no printer in any pose' }),
    });
  }
  return results;
}
