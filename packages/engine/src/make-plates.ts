import { plateSaving, plateSeconds } from '@stonehand/estimate';
import type { Estimate, Plan, Plate, Search, Workspace } from '@stonehand/model';
import { HANDLING_S, type NestItem, type PlatesAim, runCost } from '@stonehand/nest';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import type { SearchBudget } from './pieces.ts';
import { massOfCopies, timeOfCopies } from './plate-figures.ts';
import { plateTask } from './plate-task.ts';

export type CopyToPrint = Readonly<{ copyId: string; piece: SlicedPiece }>;
/** A plate without its figures. */
export type PlateDraftOn = Omit<Plate, 'massG' | 'durationS'>;
export type MadePlates = Readonly<{
  plates: readonly Plate[];
  unplaced: Plan['waiting'];
  searches: readonly Search[];
  /** what was asked for and could not be kept */
  notes: readonly string[];
}>;

/** Eighths of a turn: what a plate gains by finer steps is less than what it costs to try them for fifty copies. */
const TURNS_DEG = [0, 45, 90, 135, 180, 225, 270, 315];

/** "heron/head/skull#2" → "heron/head/skull" */
export function pieceIdOf(copyId: string): string {
  return copyId.slice(0, copyId.lastIndexOf('#'));
}

/** Packs all copies that are still to be printed onto plates, with the figures of each plate. */
export async function makePlates(
  engine: Engine,
  workspace: Workspace,
  copies: readonly CopyToPrint[],
  budget: SearchBudget,
  aim: PlatesAim = workspace.platesAim ?? 'surest',
  kept: readonly PlateDraftOn[] = [],
): Promise<MadePlates> {
  const pieces = new Map(copies.map(({ piece }) => [piece.piece.id, piece]));
  const onKept = new Set(kept.flatMap(({ placed }) => placed.map(({ copyId }) => copyId)));
  const rest = copies.filter(({ copyId }) => !onKept.has(copyId));
  const keptPlates = kept.map((draft) => figuredPlate(draft, pieces, workspace));
  if (rest.length === 0) return { plates: keptPlates, unplaced: [], searches: [], notes: [] };
  const layers: Record<string, readonly number[]> = {};
  for (const { estimates } of pieces.values())
    for (const e of estimates) layers[`${e.pieceId} ${e.printerId}`] = correctedLayers(e);
  const outcome = await engine.one(
    plateTask,
    {
      items: rest.map(nestItem),
      printers: workspace.printers,
      recipes: workspace.recipes,
      layers,
      aim,
      kept: workspace.accepted.plates,
      ...budget,
    },
    'plates',
  );
  return {
    ...outcome,
    plates: [
      ...keptPlates,
      ...outcome.plates.map((draft) => figuredPlate({ ...draft, name: whatIsOn(draft) }, pieces, workspace)),
    ],
  };
}

/** Grams and seconds of a plate, from the estimates of what lies on it. */
export function figuredPlate(
  draft: PlateDraftOn,
  pieces: ReadonlyMap<string, SlicedPiece>,
  workspace: Workspace,
): Plate {
  const printer = workspace.printers.find(({ id }) => id === draft.printerId)!;
  const recipe = workspace.recipes.find(({ id }) => id === draft.recipeId)!;
  const estimates = draft.placed.map(
    ({ copyId }) => pieces.get(pieceIdOf(copyId))!.estimates.find(({ printerId }) => printerId === draft.printerId)!,
  );
  const together = { layerS: estimates.map(({ layerS }) => layerS), recipe, printer };
  const massG = massOfCopies(estimates);
  const durationS = timeOfCopies(plateSeconds(together), estimates);
  const saving = estimates.length > 1 ? { saving: plateSaving(together) } : {};
  const run = { durationS: durationS.value, massG: massG.value, copies: estimates.length, startS: HANDLING_S };
  const { failChance, expectedS } = runCost(run, printer);
  return { ...draft, massG, durationS, ...saving, failChance, expectedS };
}

// The printer is named beside it everywhere.
export function whatIsOn({ name, printerId }: Pick<Plate, 'name' | 'printerId'>): string {
  const ending = ` on ${printerId}`;
  return name.endsWith(ending) ? name.slice(0, -ending.length) : name;
}

export function nestItem({ copyId, piece: { piece, work, estimates, outline } }: CopyToPrint): NestItem {
  const turns = Object.values(work.turns);
  const { together, apart, pins, showSide } = work.part.spec;
  const pinned = pins?.[copyId.slice(copyId.lastIndexOf('#') + 1)];
  return {
    copyId,
    footprint: outline,
    heightMm: piece.pose.heightMm,
    brimMm: work.part.recipe.brimMm,
    materialId: piece.materialId,
    recipeId: piece.recipeId,
    choices: estimates.map(({ printerId, durationS, massG }) => ({
      printerId,
      durationS: durationS.value,
      massG: massG.value,
    })),
    family: piece.partId,
    ...(pinned === undefined ? {} : { pinned }),
    ...(together === undefined ? {} : { together }),
    ...(apart === undefined ? {} : { apart }),
    ...(showSide === undefined ? {} : { shows: true }),
    // The exact fit may be at a turn between the search's steps.
    turnsDeg: [...new Set([...TURNS_DEG, ...turns.map(({ turnDeg }) => turnDeg)])],
    ...(turns.some(({ tight }) => tight) ? { simplifyMm: 0 } : {}),
  };
}

// What the record taught of the printer; warm-up, a few per cent of a plate, is left as it is while plates are chosen.
function correctedLayers({ layerS, timeFactor }: Estimate): readonly number[] {
  return timeFactor === undefined ? layerS : layerS.map((s) => s * timeFactor);
}
