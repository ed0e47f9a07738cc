import type { Estimate, MeasureRow, UnitsShown } from '@stonehand/model';
import { hanging } from './hanging.ts';
import { type TextOptions, textTable } from './text-table.ts';
import { durationText, massText, sizeText } from './words.ts';

/** A row a file in the given order; below, what is doubtful and what could not be read. */
export function renderMeasure(
  rows: readonly MeasureRow[],
  { width = 80, colour = false, units = 'metric' }: TextOptions & { readonly units?: UnitsShown } = {},
): string {
  const cells = rows.flatMap(withItems).map((row) => {
    if ('error' in row) return [row.file, 'unreadable', '', '', '', ''];
    const box = row.boxMm;
    const size = sizeText(
      [0, 1, 2].map((i) => box.max[i]! - box.min[i]!),
      units,
    );
    return [
      row.file,
      row.items === undefined ? row.grade : `${row.items.reduce((sum, { quantity }) => sum + quantity, 0)} items`,
      size,
      volumeText(row.volumeMm3, units),
      String(row.triangles),
      `${row.unit}${row.unitFrom === 'file' ? '' : ` ${row.unitFrom}`}`,
    ];
  });
  if (cells.length === 0) return 'no mesh file found\n';
  const out = [
    textTable(
      [
        { title: 'file', wraps: true },
        { title: 'grade' },
        { title: units === 'US' ? 'size' : 'size mm' },
        { title: 'volume', right: true },
        { title: 'triangles', right: true },
        { title: 'unit' },
      ],
      cells,
      { width, colour },
    ),
  ];
  for (const row of rows.flatMap(toldOf)) {
    if ('error' in row) {
      out.push(
        ...hanging('! ', `${row.error.message} (${row.error.code})`, width),
        ...hanging('  ', row.error.remedy, width),
      );
      continue;
    }
    for (const finding of row.findings) {
      if (finding.severity === 'note') continue;
      const count = finding.count > 1 ? ` (${finding.count})` : '';
      const spoils = finding.spoils.length === 0 ? '' : `; spoils ${finding.spoils.join(', ')}`;
      out.push(
        ...hanging(finding.severity === 'stop' ? '! ' : '? ', `${row.file}: ${finding.says}${count}${spoils}`, width),
      );
      if (finding.remedy !== undefined) out.push(...hanging('  ', finding.remedy, width));
    }
  }
  return `${out.join('\n').trimEnd()}\n`;
}

/** A row for the file and one below for each thing that it asks to be built, where that is more than one. */
function withItems(row: MeasureRow): readonly MeasureRow[] {
  if ('error' in row || row.items === undefined) return [row];
  const items = row.items.flatMap(({ item, quantity, reading }) =>
    reading === undefined ? [] : [{ ...reading, file: `· ${quantity} × ${item}` }],
  );
  return [row, ...items];
}

/** What is wrong with a single thing of a file is told of it alone. */
function toldOf(row: MeasureRow): readonly MeasureRow[] {
  if ('error' in row || row.items?.some(({ reading }) => reading === undefined) !== false) return [row];
  return row.items.map(({ item, reading }) => ({ ...reading!, file: `${row.file}, ${item}` }));
}

function volumeText(volumeMm3: number | undefined, units: UnitsShown): string {
  if (volumeMm3 === undefined) return 'undefined';
  if (units === 'US') return `${(volumeMm3 / 16387.064).toPrecision(3)} in³`;
  const cm3 = volumeMm3 / 1000;
  return `${Math.abs(cm3) >= 100 ? cm3.toFixed(0) : Number(cm3.toPrecision(3))} cm³`;
}

/** A row an estimate: grams, metres, hours, what kind of estimate it is, and its greatest flow. */
export function renderEstimate(
  estimates: readonly Estimate[],
  {
    width = 80,
    colour = false,
    units = 'metric',
    name = (pieceId: string) => pieceId,
  }: TextOptions & { readonly units?: UnitsShown; readonly name?: (pieceId: string) => string } = {},
): string {
  if (estimates.length === 0) return 'nothing to estimate\n';
  const rows = estimates.map((e) => [
    name(e.pieceId),
    massText(e.massG, units),
    lengthOf(e.filamentMm, units),
    durationText(e.durationS),
    `${e.recipeId} on ${e.printerId}, ${e.materialId}, ${e.mode}`,
  ]);
  return textTable(
    [
      { title: 'piece', wraps: true },
      { title: 'filament', right: true },
      { title: 'length', right: true },
      { title: 'printing', right: true },
      { title: 'from', wraps: true },
    ],
    rows,
    { width, colour },
  );
}

function lengthOf(filamentMm: number, units: UnitsShown): string {
  return units === 'US'
    ? `${(filamentMm / 304.8).toFixed(0)} ft`
    : `${(filamentMm / 1000).toFixed(filamentMm < 9950 ? 1 : 0)} m`;
}
