import { hashValue } from '@stonehand/base';
import type { Plan, PlanBasis, Plate, Printer, Recipe, Ring, Workspace } from '@stonehand/model';
import { plateName } from '@stonehand/nest';
import type { SlicedPiece } from './estimate-pieces.ts';
import { type CopyToPrint, type PlateDraftOn, whatIsOn } from './make-plates.ts';

/** What a later plan may keep to: the plates of this one, what their pieces were, and the runs that are only planned. */
export function basisOf(plan: Plan): PlanBasis {
  return {
    planFrom: plan.planFrom,
    plates: plan.plates,
    pieces: Object.fromEntries(plan.pieces.map((piece) => [piece.id, keyOf(piece, plan.recipes)] as const)),
    runs: plan.runs
      .filter((run) => run.state === 'planned')
      .map(({ id, plateId, printerId, start, spools }) => ({
        runId: id,
        plateId,
        printerId,
        start,
        spoolIds: spools.map(({ spoolId }) => spoolId),
      })),
  };
}

/**
 * Plates of the plan before that stay as they are, with what of them is still to be printed. A plate whose pieces, printer or
 * recipe have changed since is not kept; copies of accepted plates are left to packing, which keeps those.
 */
export function keptPlates(
  workspace: Workspace,
  copies: readonly CopyToPrint[],
  basis: PlanBasis | undefined,
): PlateDraftOn[] {
  const accepted = acceptedCopies(workspace);
  const left = new Map(copies.filter(({ copyId }) => !accepted.has(copyId)).map((copy) => [copy.copyId, copy.piece]));
  const drafts: PlateDraftOn[] = [];
  const keep = (
    plate: Pick<Plate, 'printerId' | 'placed'> & Partial<Plate>,
    same: (piece: SlicedPiece) => boolean,
  ): void => {
    const placed = plate.placed.filter(({ copyId }) => left.has(copyId) && same(left.get(copyId)!));
    const printer = workspace.printers.find(({ id }) => id === plate.printerId);
    const pieces = placed.map(({ copyId }) => left.get(copyId)!);
    if (printer === undefined || placed.length === 0 || !canPrint(pieces, printer)) return;
    for (const { copyId } of placed) left.delete(copyId);
    const whole = placed.length === plate.placed.length && plate.id !== undefined;
    drafts.push({
      ...draftOf(pieces, placed, printer),
      ...(whole ? { id: plate.id!, ...(plate.usedShare === undefined ? {} : { usedShare: plate.usedShare }) } : {}),
    });
  };
  for (const plate of basis?.plates ?? [])
    keep(plate, ({ piece }) => basis!.pieces[piece.id] === keyOf(piece, workspace.recipes));
  return drafts;
}

/** Copies that lie on plates which their owner accepted: nothing moves them. */
export function acceptedCopies({ accepted }: Workspace): Set<string> {
  return new Set(accepted.plates.flatMap(({ placed }) => placed.map(({ copyId }) => copyId)));
}

/** A plate without its figures: named and measured by what lies on it. */
export function draftOf(pieces: readonly SlicedPiece[], placed: Plate['placed'], printer: Printer): PlateDraftOn {
  const copyIds = placed.map(({ copyId }) => copyId);
  return {
    id: hashValue({ printerId: printer.id, placed }),
    name: whatIsOn({ name: plateName(copyIds, printer.id), printerId: printer.id }),
    printerId: printer.id,
    materialIds: [...new Set(pieces.map(({ piece }) => piece.materialId))],
    recipeId: pieces[0]!.piece.recipeId,
    placed,
    heightMm: Math.max(...pieces.map(({ piece }) => piece.pose.heightMm)),
    usedShare: pieces.reduce((sum, { outline }) => sum + areaMm2(outline), 0) / areaMm2([printer.usable]),
  };
}

/** Holes run the other way round and count less. */
function areaMm2(rings: readonly Ring[]): number {
  let twice = 0;
  for (const ring of rings) {
    ring.forEach(([x, y], i) => {
      const [nextX, nextY] = ring[(i + 1) % ring.length]!;
      twice += x * nextY - nextX * y;
    });
  }
  return twice / 2;
}

/** One recipe, and figures of every piece on this printer. */
function canPrint(pieces: readonly SlicedPiece[], printer: Printer): boolean {
  return pieces.every(
    ({ piece, estimates }) =>
      piece.recipeId === pieces[0]!.piece.recipeId &&
      piece.pose.heightMm <= printer.heightMm &&
      estimates.some(({ printerId }) => printerId === printer.id),
  );
}

function keyOf(piece: Plan['pieces'][number], recipes: readonly Recipe[]): string {
  const { meshHash, pose, materialId, recipeId } = piece;
  return hashValue([meshHash, pose.rotation, materialId, recipes.find(({ id }) => id === recipeId) ?? recipeId]);
}
