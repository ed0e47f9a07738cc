import type { PieceRecipes, Plan, WhatIfRow } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import { tableHtml } from './html.ts';
import type { PlanNames } from './plan-names.ts';
import { recipeSentence } from './plan-names.ts';
import { durationValue, massValue } from './words.ts';

type Row = Omit<WhatIfRow, 'byKind'>;

/** For each piece asked for: grams and hours by layer height, perimeters and infill, and where roofs cannot close. */
export function recipesSection(plan: Plan, names: PlanNames): string {
  const tables = (plan.otherRecipes ?? []).map((piece) => pieceTable(piece, plan, names));
  return [
    '<p class="soft">Grams and hours by share of infill, each sliced. * where the roofs may not close: the first layer over the infill has to span more than a bridge manages. What a part must carry is yours to judge.</p>',
    ...tables,
  ].join('\n');
}

function pieceTable({ pieceId, printerId, rows }: PieceRecipes, plan: Plan, names: PlanNames): string {
  const piece = plan.pieces.find(({ id }) => id === pieceId);
  const recipe = plan.recipes.find(({ id }) => id === piece?.recipeId);
  const shares = [...new Set(rows.map(({ infillShare }) => infillShare))];
  const kinds = [...new Set(rows.map(({ layerMm, perimeters }) => `${layerMm} ${perimeters}`))];
  const cells = kinds.map((kind) => {
    const [layerMm, perimeters] = kind.split(' ').map(Number);
    const mine = (share: number): Row | undefined =>
      rows.find((r) => r.layerMm === layerMm && r.perimeters === perimeters && r.infillShare === share);
    return [`${layerMm} mm`, String(perimeters), ...shares.map((share) => cellText(mine(share), plan))];
  });
  const now = recipe === undefined ? '' : `<p class="soft">Planned: ${escapeXml(recipeSentence(recipe))}.</p>`;
  return `<h3>${escapeXml(names.pieceName(pieceId))} on ${escapeXml(names.printerName(printerId))}</h3>${now}${tableHtml(
    [
      { title: 'layers' },
      { title: 'perimeters', right: true },
      ...shares.map((share) => ({ title: `${Math.round(100 * share)} %`, right: true })),
    ],
    cells,
    { none: 'It could not be sliced.' },
  )}`;
}

function cellText(row: Row | undefined, plan: Plan): string {
  if (row === undefined) return '';
  return `${escapeXml(massValue(row.massG, plan.unitsShown))}${row.roofsClose ? '' : '*'}<br><span class="soft">${escapeXml(durationValue(row.durationS))}</span>`;
}
