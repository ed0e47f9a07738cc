import { formatLength } from '@stonehand/base';
import type { Figure, HollowSaving, UnitsShown } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import type { TextOptions } from './text-table.ts';
import { durationText, massText } from './words.ts';

export type HollowedText = Readonly<{
  file: string;
  wallMm: number;
  /** which way up, and on which printer, the figures are meant */
  way: string;
  printer: string;
  cavityMm3: number;
  /** hollow */
  massG: Figure;
  saving: HollowSaving;
  files: readonly string[];
}>;

/** What a cavity behind a wall saves, by slicing with and without it. */
export function renderHollowed(
  { file, wallMm, way, printer, cavityMm3, massG, saving, files }: HollowedText,
  { width = 80, units = 'metric' }: TextOptions & { readonly units?: UnitsShown } = {},
): string {
  const wall = formatLength(wallMm, units);
  const name = plainLine(file);
  if (!(cavityMm3 > 0)) return `${name}: no room inside behind a wall of ${wall}\n`;
  const change = (less: number, text: string): string => (less >= 0 ? `${text} less` : `${text} more`);
  const saved = [
    change(saving.massG, massText(figure(Math.abs(saving.massG)), units)),
    change(saving.durationS, durationText(figure(Math.abs(saving.durationS)))),
  ].join(' and ');
  const out = [
    ...hanging(
      '',
      `${name}: a cavity of ${(cavityMm3 / 1000).toFixed(1)} cm³ behind a wall of ${wall}: ${saved}, sliced with and without (${printer}, ${way}). It then weighs ${massText(massG, units)}.`,
      width,
    ),
  ];
  if (saving.shutInG > 0.5) out.push(...hanging('', `${saving.shutInG.toFixed(0)} g of support stay shut in.`, width));
  if (files.length > 0) out.push(...hanging('wrote ', files.join(', '), width));
  return `${out.join('\n')}\n`;
}

const figure = (value: number): Figure => ({ value, from: 'slicing with and without the cavity' });
