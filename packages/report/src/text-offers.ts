import type { HollowOffer, HollowSaving, Recipe, UnitsShown, WhatIfRow } from '@stonehand/model';
import { type TextColumn, type TextOptions, textTable, wrapText } from './text-table.ts';
import { durationText, durationValue, lengthValue, massText, massValue } from './words.ts';

type Options = TextOptions & Readonly<{ units?: UnitsShown }>;

/** Walls of one bead are no stronger than a sheet of paper is stiff: two lines are the usual least (common practice). */
const LEAST_PERIMETERS = 2;

/**
 * A table for each layer height: grams above hours, a row for each number of perimeters, a column for each share of infill. [ ] is the recipe as it
 * is, * where roofs cannot close.
 */
export function renderWhatIf(
  rows: readonly WhatIfRow[],
  recipe: Pick<Recipe, 'layerMm' | 'perimeters' | 'infillShare' | 'bridgeMm'>,
  { width = 80, colour = false, units = 'metric' }: Options = {},
): string {
  const out: string[] = [];
  for (const layerMm of distinct(rows.map((row) => row.layerMm))) {
    const mine = rows.filter((row) => row.layerMm === layerMm);
    const shares = distinct(mine.map(({ infillShare }) => infillShare));
    const columns: TextColumn[] = [
      { title: `${layerMm} mm layers` },
      ...shares.map((share) => ({ title: `${Math.round(100 * share)} %`, right: true })),
    ];
    const cells = distinct(mine.map(({ perimeters }) => perimeters)).flatMap((count) => {
      const across = shares.map((share) => mine.find((r) => r.perimeters === count && r.infillShare === share));
      const name = count === 1 ? '1 perimeter' : `${count} perimeters`;
      return [
        [name, ...across.map((row) => (row === undefined ? '' : gramsCell(row, recipe, units)))],
        ['', ...across.map((row) => (row === undefined ? '' : durationValue(row.durationS)))],
      ];
    });
    out.push(textTable(columns, cells, { width, colour }).trimEnd(), '');
  }
  for (const line of whatIfLines(rows, recipe, units)) out.push(...wrapText(line, width));
  return `${out.join('\n')}\n`;
}

function gramsCell(row: WhatIfRow, recipe: Parameters<typeof renderWhatIf>[1], units: UnitsShown): string {
  const grams = `${massValue(row.massG, units)}${row.roofsClose ? '' : '*'}`;
  const same =
    row.layerMm === recipe.layerMm && row.perimeters === recipe.perimeters && row.infillShare === recipe.infillShare;
  return same ? `[${grams}]` : grams;
}

function whatIfLines(
  rows: readonly WhatIfRow[],
  recipe: Parameters<typeof renderWhatIf>[1],
  units: UnitsShown,
): string[] {
  const lines: string[] = [];
  const open = rows.filter(({ roofsClose }) => !roofsClose);
  if (open.length > 0) {
    const worst = open.reduce((a, b) => (b.roofSpanMm > a.roofSpanMm ? b : a));
    lines.push(
      `* roofs may not close: the first layer over the infill has to span up to ${mm(worst.roofSpanMm, units)} (${mm(worst.roofAtMm, units)} above the plate), and a bridge manages ${mm(recipe.bridgeMm, units)}.`,
    );
  }
  const adequate = rows.filter((row) => row.roofsClose && row.perimeters >= LEAST_PERIMETERS);
  if (adequate.length > 0) {
    const lightest = adequate.reduce((a, b) => (b.massG.value < a.massG.value ? b : a));
    const { layerMm, perimeters, infillShare, massG, durationS } = lightest;
    lines.push(
      `Lightest with at least ${LEAST_PERIMETERS} perimeters and roofs that close: ${layerMm} mm layers, ${perimeters} perimeters, ${Math.round(100 * infillShare)} % infill: ${massText(massG, units)}, ${durationText(durationS)}. What the part must carry is yours to judge.`,
    );
  }
  return lines;
}

/** What hollowing would save, or why it saves nothing. */
export function renderHollow(
  {
    wallMm,
    whole,
    offset,
    selfClosing,
    saves,
  }: HollowOffer & Readonly<{ saves: Record<'offset' | 'selfClosing', HollowSaving> }>,
  { width = 80, units = 'metric' }: Options = {},
): string {
  const wall = mm(wallMm, units);
  const lines: string[] = [];
  const own = saves.selfClosing;
  if (offset.cavityMm3 === 0) lines.push(`Hollow behind ${wall}: nothing lies deeper inside than that.`);
  else if (own.massG <= 0) {
    lines.push(
      `Hollow behind ${wall}: nothing to save. Walls, floors and roofs around a cavity of ${cm3(selfClosing.cavityMm3)} weigh ${grams(-own.massG, units)} more than the infill they replace.`,
    );
  } else {
    const share = Math.round((100 * own.massG) / whole.massG.value);
    lines.push(
      `Hollow behind ${wall}: saves ${grams(own.massG, units)} (${share} %) and ${time(own.durationS)}: ${massText(selfClosing.massG, units)} remain, around a cavity of ${cm3(selfClosing.cavityMm3)} under a gable that needs no support${shutIn(own, units)}.`,
    );
  }
  if (offset.cavityMm3 > selfClosing.cavityMm3 * 1.01) {
    lines.push(
      `The plain inner offset is ${cm3(offset.cavityMm3)}; it would save ${grams(saves.offset.massG, units)}${shutIn(saves.offset, units)}.`,
    );
  }
  return `${lines.flatMap((line) => wrapText(line, width)).join('\n')}\n`;
}

function shutIn({ shutInG }: HollowSaving, units: UnitsShown): string {
  return shutInG < 0.05 ? '' : `, with ${grams(shutInG, units)} of support shut in for good`;
}

const distinct = (values: readonly number[]): number[] => [...new Set(values)];
const mm = (value: number, units: UnitsShown): string => lengthValue({ value, from: '' }, units);
const grams = (value: number, units: UnitsShown): string =>
  value < 0 ? `−${massValue({ value: -value, from: '' }, units)}` : massValue({ value, from: '' }, units);
const cm3 = (mm3: number): string => `${Number((mm3 / 1000).toPrecision(2))} cm³`;
const time = (s: number): string =>
  s < 0 ? `−${durationValue({ value: -s, from: '' })}` : durationValue({ value: s, from: '' });
