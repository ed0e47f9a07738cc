import type { Estimate, Material, PartSummary, Piece, Plan, Plate, Printer, Recipe, Run } from '@stonehand/model';

/** A plan's members by id, and the names people read. Made once per rendering. */
export type PlanNames = Readonly<{
  part: (partId: string) => PartSummary | undefined;
  piece: (pieceId: string) => Piece | undefined;
  plate: (plateId: string) => Plate | undefined;
  run: (runId: string) => Run | undefined;
  runOfPlate: (plateId: string) => Run | undefined;
  printer: (printerId: string) => Printer | undefined;
  material: (materialId: string) => Material | undefined;
  recipe: (recipeId: string) => Recipe | undefined;
  estimate: (pieceId: string, printerId?: string) => Estimate | undefined;
  partName: (partId: string) => string;
  /** of a piece or of one of its copies: `back shell, piece b` */
  pieceName: (copyOrPieceId: string) => string;
  /** short, for labels; the table of what fits where says the whole name once */
  printerName: (printerId: string) => string;
  materialName: (materialId: string) => string;
  /** a stable number for a material's colour, in the order of plan.materials */
  materialIndex: (materialId: string) => number;
}>;

export function planNames(plan: Plan): PlanNames {
  const parts = byId(plan.parts);
  const pieces = byId(plan.pieces);
  const plates = byId(plan.plates);
  const runs = byId(plan.runs);
  const printers = byId(plan.printers);
  const materials = byId(plan.materials);
  const recipes = byId(plan.recipes);
  const runOfPlate = new Map(plan.runs.map((run) => [run.plateId, run]));
  const materialAt = new Map(plan.materials.map((material, i) => [material.id, i]));
  const estimates = new Map<string, Estimate>();
  for (const estimate of plan.estimates) {
    estimates.set(`${estimate.pieceId}\n${estimate.printerId}`, estimate);
    if (!estimates.has(estimate.pieceId)) estimates.set(estimate.pieceId, estimate);
  }
  const partName = (partId: string): string => parts.get(partId)?.name ?? partId;
  return {
    part: (id) => parts.get(id),
    piece: (id) => pieces.get(id),
    plate: (id) => plates.get(id),
    run: (id) => runs.get(id),
    runOfPlate: (id) => runOfPlate.get(id),
    printer: (id) => printers.get(id),
    material: (id) => materials.get(id),
    recipe: (id) => recipes.get(id),
    estimate: (pieceId, printerId) =>
      (printerId === undefined ? undefined : estimates.get(`${pieceId}\n${printerId}`)) ?? estimates.get(pieceId),
    partName,
    pieceName: (id) => {
      const pieceId = pieceOfCopy(id);
      const piece = pieces.get(pieceId);
      if (piece === undefined) return partName(pieceId);
      const letter = pieceId === piece.partId ? '' : pieceId.slice(piece.partId.length + 1);
      return letter === '' ? partName(piece.partId) : `${partName(piece.partId)}, piece ${letter}`;
    },
    printerName: (id) => shortPrinterName(printers.get(id) ?? { id }),
    materialName: (id) => {
      const material = materials.get(id);
      return material === undefined ? id : (material.name ?? `${material.kind} ${material.colour}`);
    },
    materialIndex: (id) => materialAt.get(id) ?? plan.materials.length,
  };
}

/** A printer's name where it is short, else its id, which the owner chose to be typed. */
export function shortPrinterName({ id, name }: Readonly<{ id: string; name?: string }>): string {
  return name === undefined || (name.length > LONGEST_LABEL && id.length < name.length) ? id : name;
}

const LONGEST_LABEL = 14;

/** `part/b#2` → `part/b`. */
export function pieceOfCopy(copyId: string): string {
  const hash = copyId.lastIndexOf('#');
  return hash < 0 ? copyId : copyId.slice(0, hash);
}

/** The same names once, with how often: `eye bezel ×2`. In order of first appearance. */
export function countedNames(names: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const name of names) counts.set(name, (counts.get(name) ?? 0) + 1);
  return [...counts].map(([name, n]) => (n === 1 ? name : `${name} ×${n}`));
}

/** What waits, one row a reason, in the plan's order. */
export function waitingByReason(plan: Plan, names: PlanNames): { reason: string; names: string[]; copies: number }[] {
  const rows = new Map<string, string[]>();
  for (const { copyId, reason } of plan.waiting) {
    const row = rows.get(reason);
    if (row === undefined) rows.set(reason, [names.pieceName(copyId)]);
    else row.push(names.pieceName(copyId));
  }
  return [...rows].map(([reason, all]) => ({ reason, names: countedNames(all), copies: all.length }));
}

/** A recipe as it is said: `0.2 mm layers, 3 perimeters, 15 % gyroid, 5 + 4 solid layers, support where needed`. */
export function recipeSentence(recipe: Recipe): string {
  const said = [
    `${recipe.layerMm} mm layers${recipe.firstLayerMm === recipe.layerMm ? '' : ` (first ${recipe.firstLayerMm})`}`,
    `${recipe.perimeters} perimeter${recipe.perimeters === 1 ? '' : 's'}`,
    `${Number((recipe.infillShare * 100).toFixed(1))} % ${recipe.infillPattern}`,
  ];
  if (recipe.roofLayers === recipe.floorLayers) said.push(`${recipe.roofLayers} solid floors and roofs`);
  else said.push(`${recipe.floorLayers} solid floors, ${recipe.roofLayers} solid roofs`);
  said.push(
    recipe.support === 'none' ? 'no support' : `support beyond ${recipe.overhangFromVerticalDeg}° from vertical`,
  );
  if (recipe.brimMm > 0) said.push(`${recipe.brimMm} mm brim`);
  return said.join(', ');
}

/** How many layers a piece or plate of this height has. */
export function layerCount(heightMm: number, recipe: Recipe): number {
  if (heightMm <= recipe.firstLayerMm) return 1;
  // A hair under one layer is rounding, not a layer.
  return 1 + Math.ceil((heightMm - recipe.firstLayerMm) / recipe.layerMm - 1e-6);
}

function byId<T extends { readonly id: string }>(items: readonly T[]): Map<string, T> {
  return new Map(items.map((item) => [item.id, item]));
}
