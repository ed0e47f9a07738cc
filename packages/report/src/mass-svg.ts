import type { MassReport, UnitsShown } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { flatten, type LimitLine, limitChance, limitLines, marginText, statedValue } from './limit-lines.ts';
import { fitText, svgDocument, svgLine, svgRect, svgText, textEms } from './svg.ts';
import { massText } from './words.ts';

const BAR = 24;

/** Mass by assembly: printed, bought and more (paint, glue, wiring) side by side, whisker for the interval, a line for the limit with what is left to it. */
export function massSvg(
  reports: readonly MassReport[],
  units: UnitsShown = 'metric',
  { widthPx = 1040 }: Readonly<{ widthPx?: number }> = {},
): string {
  const rows = flatten(reports);
  const narrow = widthPx < 600;
  // Wide: name to the left, words to the right of the bar. Narrow: both above it, and the bar may fill the width.
  const left = narrow ? 0 : 150;
  const right = narrow ? 8 : widestWords(rows, units) + 14;
  const rowPx = narrow ? 62 : 44;
  const most = Math.max(
    1,
    ...rows.map((row) => Math.max(row.massG.high ?? row.massG.value, massLimit(row)?.most ?? 0)),
  );
  const x = (massG: number): number => left + (massG / most) * (widthPx - left - right);
  const depth = depths(reports);
  const body: string[] = [];
  rows.forEach((row, i) => {
    const y = rowPx * i + (narrow ? 30 : 12);
    const indent = 12 * (depth.get(row) ?? 0);
    const strong = indent === 0;
    const words = limitWords(row, units);
    const end = massBar(row, y, left, x, units, body);
    const mass = massText(row.massG, units);
    const over = (massLimit(row)?.margin ?? 0) < 0;
    if (narrow) {
      body.push(svgText(indent, y - 18, fitText(row.name, widthPx - 130 - indent, 13), { strong, size: 13 }));
      body.push(svgText(widthPx - 1, y - 18, mass, { anchor: 'end', size: 11 }));
      body.push(svgText(indent, y - 5, fitText(words, widthPx - indent, 11), { size: 11, strong: over }));
    } else {
      body.push(svgText(indent, y + BAR / 2 + 4, fitText(row.name, left - 10 - indent, 12), { strong }));
      const middle = y + BAR / 2 + 4;
      body.push(svgText(end + 9, words === '' ? middle : middle - 7, mass, { size: 11 }));
      if (words !== '') body.push(svgText(end + 9, middle + 7, words, { size: 11, strong: over }));
    }
  });
  body.push(massLegend(left, rowPx * rows.length + 16));
  return svgDocument(
    [0, 0, widthPx, rowPx * rows.length + 24],
    `mass of ${rows.length} assemblies, printed and bought, against their limits`,
    body.join(''),
  );
}

function massLimit(row: MassReport): LimitLine | undefined {
  return limitLines(row).find((line) => line.unit === 'g' && line.most !== undefined);
}

function limitWords(row: MassReport, units: UnitsShown): string {
  const line = massLimit(row);
  if (line === undefined) return '';
  const said = [`limit ${statedValue(line.most!, 'g', units)}`, marginText(line, units).replace(' the limit', '')];
  return [...said, limitChance(line)].filter((text) => text !== '').join(', ');
}

/** Room for the longest line beside a bar. Widths are estimated without a font; strong text and unlike faces are wider. */
function widestWords(rows: readonly MassReport[], units: UnitsShown): number {
  const texts = rows.flatMap((row) => [massText(row.massG, units), limitWords(row, units)]);
  return Math.max(...texts.map((text) => textEms(text) * 11 * 1.18));
}

/** Draws the bar, its whisker and limit; gives where the last of them ends. */
function massBar(
  row: MassReport,
  y: number,
  left: number,
  x: (massG: number) => number,
  units: UnitsShown,
  body: string[],
): number {
  const middle = y + BAR / 2;
  const printed = x(row.printedG) - left;
  const bought = x(row.boughtG) - left;
  const ink = 'var(--ink,#1d1c1a)';
  body.push(
    svgRect(left, y, printed, BAR, categoryColour(4), ' fill-opacity=".6"'),
    svgRect(left + printed, y, bought, BAR, categoryColour(1), ' fill-opacity=".55"'),
  );
  body.push(svgText(left + 7, middle + 4, barText('printed', row.printedG, printed - 12, units), { size: 11 }));
  const more = x(row.extraG ?? 0) - left;
  body.push(svgRect(left + printed + bought, y, more, BAR, categoryColour(3), ' fill-opacity=".55"'));
  if (row.boughtG > 0)
    body.push(svgText(left + printed + 6, middle + 4, barText('bought', row.boughtG, bought - 9, units), { size: 11 }));
  let end = left + printed + bought + more;
  if (row.massG.low !== undefined && row.massG.high !== undefined) {
    const [low, high, w] = [x(row.massG.low), x(row.massG.high), y + BAR - 5];
    body.push(
      svgLine(low, w, high, w, ink),
      svgLine(low, w - 3, low, w + 3, ink),
      svgLine(high, w - 3, high, w + 3, ink),
    );
    end = Math.max(end, high);
  }
  const limit = massLimit(row);
  if (limit === undefined) return end;
  const lx = x(limit.most!);
  body.push(svgLine(lx, y - 4, lx, y + BAR + 4, 'var(--accent,#3a3f9f)', 2.4));
  return Math.max(end, lx);
}

/** `printed 742 g`, or the figure alone, or nothing: never a cut number. */
function barText(word: string, massG: number, width: number, units: UnitsShown): string {
  const figure = massText({ value: massG, from: '' }, units);
  return [`${word} ${figure}`, figure].find((text) => fitText(text, width, 11) === text) ?? '';
}

function massLegend(x: number, y: number): string {
  const box = (at: number, index: number): string =>
    svgRect(at, y - 9, 16, 11, categoryColour(index), ' fill-opacity=".6"');
  const ink = 'var(--accent,#3a3f9f)';
  return [
    box(x, 4),
    svgText(x + 22, y, 'printed', { soft: true, size: 11 }),
    box(x + 80, 1),
    svgText(x + 102, y, 'bought', { soft: true, size: 11 }),
    box(x + 156, 3),
    svgText(x + 178, y, 'more', { soft: true, size: 11 }),
    svgLine(x + 228, y - 11, x + 228, y + 3, ink, 2.4),
    svgText(x + 236, y, 'limit', { soft: true, size: 11 }),
  ].join('');
}

function depths(
  reports: readonly MassReport[],
  depth: number = 0,
  into: Map<MassReport, number> = new Map(),
): Map<MassReport, number> {
  for (const report of reports) {
    into.set(report, depth);
    depths(report.children, depth + 1, into);
  }
  return into;
}
