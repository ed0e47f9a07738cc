import {
  type Ballasted,
  ballast,
  type CopyMass,
  type Lightened,
  type LightenOptions,
  lighten,
  loadSolver,
  type PartChoice,
  type PartMass,
  stiffnessIndex,
} from '@stonehand/balance';
import { calibrated } from '@stonehand/estimate';
import type { Assembly, Estimate, Workspace } from '@stonehand/model';
import { massOfPieces, partMasses, piecesByPart } from './assembly-masses.ts';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { estimateTask } from './estimate-task.ts';
import type { Learning } from './learn.ts';
import { type Way, waysOf } from './lighten-choices.ts';
import { copiesToPrint, whyNotPrintable } from './part-work.ts';
import type { WeighResult } from './weigh-workspace.ts';

export type ProposeOptions = Readonly<{ lighten?: LightenOptions; ballast?: boolean }>;

/** What is proposed for one assembly. */
export type Proposal = Readonly<{
  lightened?: Lightened;
  /** ways to bring it home by weights and moves: of the lightened assembly where that was asked for too */
  ballasted?: readonly Ballasted[];
}>;

/** Parts below this share of the assembly's mass are left alone unless they have a rule of their own: slicing them anew tells nothing. */
const LEAST_SHARE = 0.01;

/** Slices every allowed way to print the parts of an assembly, and chooses; then counterweights and moves where asked for. */
export async function proposeFor(
  engine: Engine,
  workspace: Workspace,
  assembly: Assembly,
  { pieces, parts, learning }: Pick<WeighResult, 'pieces' | 'parts' | 'learning'>,
  { lighten: asked, ballast: withWeights = false }: ProposeOptions,
): Promise<Proposal> {
  const pieceMass = await partMasses(engine, workspace, parts, pieces);
  const input = { pieceMass, hardware: workspace.hardware };
  const solver = await loadSolver();
  if (asked === undefined) {
    const rule = assembly.ballast;
    return withWeights && rule !== undefined ? { ballasted: ballast(assembly, input, rule, solver) } : {};
  }
  const choices = await choicesFor(engine, workspace, assembly, piecesByPart(pieces), pieceMass, learning);
  const lightened = lighten(assembly, { ...input, choices }, solver, asked);
  if (!withWeights || assembly.ballast === undefined) return { lightened };
  const chosen = Object.fromEntries(
    lightened.changes.map(({ partId, choiceId }) => [partId, choices[partId]!.find(({ id }) => id === choiceId)!.mass]),
  );
  const after = { ...input, pieceMass: { ...pieceMass, ...chosen } };
  return { lightened, ballasted: ballast(assembly, after, assembly.ballast, solver) };
}

async function choicesFor(
  engine: Engine,
  workspace: Workspace,
  assembly: Assembly,
  byPart: ReadonlyMap<string, readonly SlicedPiece[]>,
  pieceMass: Readonly<Record<string, PartMass>>,
  learning: Learning,
): Promise<Record<string, PartChoice[]>> {
  const asked = askedParts(assembly, byPart, pieceMass, workspace);
  const jobs = asked.flatMap(({ pieces, ways }) =>
    ways.flatMap((way) => pieces.map((piece) => ({ piece, way, printers: printersFor(piece, way) }))),
  );
  const outcomes = await engine.map(
    estimateTask,
    jobs.map(({ piece: { work }, way: { recipe, material }, printers }) => ({
      pieceId: work.id,
      mesh: work.ref,
      pose: work.pose,
      recipe,
      material,
      printers,
    })),
    'slicing other recipes',
  );
  const found = new Map<SlicedPiece, Map<Way, readonly Estimate[]>>();
  for (const [i, { piece, way }] of jobs.entries()) {
    const outcome = outcomes[i]!;
    if (!outcome.ok || outcome.value.estimates.length === 0) continue;
    const estimates = outcome.value.estimates.map((estimate) => calibrated(estimate, learning.of(estimate)));
    found.set(piece, (found.get(piece) ?? new Map<Way, readonly Estimate[]>()).set(way, estimates));
  }
  return Object.fromEntries(
    asked.map((part) => [part.id, choicesOf(part, (piece, way) => found.get(piece)?.get(way))]),
  );
}

type Asked = Readonly<{
  id: string;
  pieces: readonly SlicedPiece[];
  ways: readonly Way[];
  mass: PartMass;
  toPrint: ReadonlyMap<SlicedPiece, readonly string[]>;
}>;

/** Parts of the tree that are still to be printed, have more than one way, and matter. */
function askedParts(
  assembly: Assembly,
  byPart: ReadonlyMap<string, readonly SlicedPiece[]>,
  pieceMass: Readonly<Record<string, PartMass>>,
  workspace: Workspace,
): Asked[] {
  const asked: Asked[] = [];
  const visit = ({ parts, children }: Assembly): void => {
    for (const spec of parts) {
      const pieces = byPart.get(spec.id);
      const mass = pieceMass[spec.id];
      if (pieces === undefined || mass === undefined || spec.status !== 'print') continue;
      const toPrint = new Map(pieces.map((piece) => [piece, copiesToPrint(piece.piece.id, spec, workspace.ledger)]));
      const ways = waysOf(pieces[0]!.work.part, workspace);
      if (ways.length > 1 && [...toPrint.values()].some((copies) => copies.length > 0))
        asked.push({ id: spec.id, pieces, ways, mass, toPrint });
    }
    for (const child of children) visit(child.assembly);
  };
  visit(assembly);
  const gramsOf = ({ mass, pieces }: Asked): number => mass.massG.value * pieces[0]!.work.part.spec.quantity;
  const whole = asked.reduce((sum, part) => sum + gramsOf(part), 0);
  return asked.filter(
    (part) => part.pieces[0]!.work.part.spec.lighten !== undefined || gramsOf(part) >= LEAST_SHARE * whole,
  );
}

function printersFor(
  { work: { part, printers } }: SlicedPiece,
  { recipe, material }: Way,
): SlicedPiece['work']['printers'] {
  return printers.filter((printer) => whyNotPrintable(printer, material, recipe, part.spec) === undefined);
}

function choicesOf(
  { id, pieces, ways, mass, toPrint }: Asked,
  estimatesOf: (piece: SlicedPiece, way: Way) => readonly Estimate[] | undefined,
): PartChoice[] {
  const choices: PartChoice[] = [];
  const copies = { ...printedAlready(pieces, mass, toPrint), ...mass.copies };
  let todays = 0;
  const least = pieces[0]!.work.part.spec.lighten?.least?.stiffness ?? 0;
  for (const way of ways) {
    const mine = pieces.map((piece) => estimatesOf(piece, way));
    if (mine.some((estimates) => estimates === undefined)) continue;
    const estimateOf = (piece: SlicedPiece): Estimate => mine[pieces.indexOf(piece)]![0]!;
    const index = pieces.reduce(
      (sum, piece) => sum + stiffnessIndex(estimateOf(piece).byKind, way.recipe.infillShare, way.material.kind),
      0,
    );
    if (choices.length === 0) todays = index;
    const stiffness = todays === 0 ? 1 : index / todays;
    if (choices.length > 0 && stiffness < least) continue;
    choices.push({
      id: way.id,
      says: way.says,
      mass: { ...mass, ...massOfPieces(pieces, estimateOf), copies },
      durationS: pieces.reduce((sum, piece, i) => sum + toPrint.get(piece)!.length * fastest(mine[i]!), 0),
      stiffness,
    });
  }
  // Without today's nothing can be compared.
  return choices[0]?.id === 'today' ? choices : [{ id: 'today', says: id, mass, durationS: 0, stiffness: 1 }];
}

function fastest(estimates: readonly Estimate[]): number {
  return Math.min(...estimates.map(({ durationS }) => durationS.value));
}

/** Copies that lie there already keep today's figures, whatever is chosen for the others. */
function printedAlready(
  pieces: readonly SlicedPiece[],
  { massG, centreMm, inertiaGMm2 }: CopyMass,
  toPrint: ReadonlyMap<SlicedPiece, readonly string[]>,
): Record<number, CopyMass> {
  const there: Record<number, CopyMass> = {};
  const { quantity, spares } = pieces[0]!.work.part.spec;
  for (let n = 1; n <= quantity + spares; n++) {
    // A cut copy with one piece printed already is finished as it was begun.
    if (pieces.every((piece) => toPrint.get(piece)!.includes(`${piece.piece.id}#${n}`))) continue;
    there[n] = { massG, centreMm, inertiaGMm2 };
  }
  return there;
}
