import type { Engine, SlicedPiece } from '@stonehand/engine';
import type { Plan, Plate } from '@stonehand/model';
import { type PlateDrawing, planNames, platePng, plateSvg, recipeSentence } from '@stonehand/report';
import { plateFileTask, supportFileTask } from './drawing-tasks.ts';
import { fileNameOf } from './file-name.ts';
import { replaceFolder } from './replace-folder.ts';

type NamedFile = readonly [string, Uint8Array];

/** A 3MF and two pictures to scale for each plate; with support also its STL, one for each piece. */
export async function writePlates(
  engine: Engine,
  plan: Plan,
  pieces: readonly SlicedPiece[],
  folder: string,
  withSupport: boolean,
): Promise<void> {
  const files = plan.plates.flatMap((plate) => picturesOfPlate(plan, plate));
  files.push(...(await modelsOfPlates(engine, plan, pieces, withSupport)));
  if (withSupport) files.push(...(await supportsOf(engine, plan, pieces)));
  await replaceFolder(folder, files);
}

/** "6-foot-pads-1a2b3c": names may repeat, ids do not. */
function plateFileName(plate: Plate): string {
  return `${fileNameOf(plate.name)}-${plate.id.slice(-6)}`;
}

function picturesOfPlate(plan: Plan, plate: Plate): NamedFile[] {
  const names = planNames(plan);
  const printer = names.printer(plate.printerId);
  if (printer === undefined) return [];
  const drawing: PlateDrawing = {
    plate,
    printer,
    piece: names.piece,
    name: names.pieceName,
    recipe: names.recipe(plate.recipeId),
    materialIndex: names.materialIndex,
  };
  return [
    [`${plateFileName(plate)}.plate.svg`, Buffer.from(plateSvg(drawing).svg)],
    [`${plateFileName(plate)}.plate.png`, platePng(drawing)],
  ];
}

async function modelsOfPlates(
  engine: Engine,
  plan: Plan,
  pieces: readonly SlicedPiece[],
  withSupport: boolean,
): Promise<NamedFile[]> {
  const names = planNames(plan);
  const byId = new Map(pieces.map((piece) => [piece.piece.id, piece]));
  const outcomes = await engine.map(
    plateFileTask,
    plan.plates.map((plate) => {
      const ids = [...new Set(plate.placed.map(({ copyId }) => copyId.slice(0, copyId.lastIndexOf('#'))))];
      const recipe = plan.recipes.find(({ id }) => id === plate.recipeId);
      return {
        plate,
        pieces: ids.map((id) => ({
          piece: byId.get(id)!.piece,
          mesh: byId.get(id)!.work.ref,
          name: names.pieceName(id),
        })),
        materials: plan.materials.filter(({ id }) => plate.materialIds.includes(id)),
        title: `${plan.name}: ${plate.name}`,
        application: plan.madeBy,
        description: recipe === undefined ? plate.name : recipeSentence(recipe),
        ...(withSupport && recipe !== undefined ? { supportBy: recipe } : {}),
      };
    }),
    'plate files',
  );
  return plan.plates.flatMap((plate, i) => {
    const outcome = outcomes[i]!;
    return outcome.ok ? [[`${plateFileName(plate)}.build.3mf`, Buffer.from(outcome.value, 'base64')] as const] : [];
  });
}

async function supportsOf(engine: Engine, plan: Plan, pieces: readonly SlicedPiece[]): Promise<NamedFile[]> {
  const used = new Set(plan.plates.flatMap(({ placed }) => placed.map(({ copyId }) => copyId.split('#')[0]!)));
  const held = pieces.filter(({ piece, work }) => used.has(piece.id) && work.part.recipe.support !== 'none');
  const outcomes = await engine.map(
    supportFileTask,
    held.map(({ piece, work }) => ({
      mesh: work.ref,
      pose: piece.pose,
      recipe: work.part.recipe,
      name: piece.id,
    })),
    'support files',
  );
  return held.flatMap(({ piece }, i) => {
    const outcome = outcomes[i]!;
    if (!outcome.ok || outcome.value === '') return [];
    return [[`${fileNameOf(piece.id)}.support.stl`, Buffer.from(outcome.value, 'base64')] as const];
  });
}
