import type { Printer, UnitsShown } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { type FitRow, poseFacts, verdictText } from './fit-rows.ts';
import { hanging } from './hanging.ts';
import { shortPrinterName } from './plan-names.ts';
import { type TextOptions, textTable, wrapText } from './text-table.ts';
import { causeLines, grams } from './text-ways.ts';
import { countOf, listWords, sizeText } from './words.ts';

export type FitText = Readonly<{
  rows: readonly FitRow[];
  printers: readonly Printer[];
  units?: UnitsShown;
  /** said first: `assumed, no shop is set up` */
  bedNote?: string;
  /** things to confirm before believing the rows: units, duplicates, mirror pairs, older revisions */
  suspicions?: readonly string[];
}>;

/** What fits where: which bed is meant, what looks doubtful, then a row a part, worst first; what fits everywhere is one line. */
export function renderFit(
  { rows, printers, units = 'metric', bedNote, suspicions = [] }: FitText,
  options: TextOptions = {},
): string {
  const { width = 80, colour = false } = options;
  const beds = printers
    .map((p) => `${shortPrinterName(p)} ${sizeText([...p.plateSizeMm, p.heightMm], units)}`)
    .join(', ');
  const out = wrapText(plainLine(`bed: ${beds}${bedNote === undefined ? '' : ` (${bedNote})`}`), width);
  for (const suspicion of suspicions) out.push(...hanging('? ', suspicion, width));
  out.push('');
  const easy = rows.filter(
    (row) => row.verdicts.length > 0 && row.verdicts.every((v) => v.verdict === 'asIs' && v.refused === undefined),
  );
  const hard = rows.filter((row) => !easy.includes(row));
  const weighed = rows.some(({ supportG }) => supportG !== undefined);
  if (hard.length > 0) {
    const columns = [
      { title: 'part', wraps: true },
      { title: units === 'US' ? 'size' : 'size mm' },
      ...printers.map((p) => ({ title: shortPrinterName(p) })),
      ...(weighed ? [{ title: 'support', right: true }] : []),
      { title: 'why', wraps: true },
    ];
    const cells = hard.map((row) => [
      row.name,
      row.sizeMm === undefined ? '' : sizeText(row.sizeMm, units),
      ...printers.map((p) => verdictFor(row, p.id)),
      ...(weighed ? [row.supportG === undefined ? '' : `${grams(row.supportG)} g`] : []),
      row.why,
    ]);
    if (width >= 110) out.push(textTable(columns, cells, { width, colour }));
    else {
      // In a narrow window the reasons are worth more below the table than in a column of three words.
      out.push(
        textTable(
          columns.slice(0, -1),
          cells.map((row) => row.slice(0, -1)),
          { width, colour },
        ),
      );
      for (const row of hard) if (row.why !== '') out.push(...hanging('  ', `${row.name}: ${row.why}`, width));
      out.push('');
    }
  }
  if (easy.length > 0) {
    const all =
      hard.length === 0
        ? 'every part fits every printer as it is'
        : `${countOf(easy.length, 'part')} more ${easy.length === 1 ? 'fits' : 'fit'} every printer as ${easy.length === 1 ? 'it is' : 'they are'}`;
    out.push(...wrapText(plainLine(`${all}: ${listWords(easy.map((row) => row.name))}`), width));
  }
  out.push(...supportLines(rows, printers, width));
  if (rows.length === 0) out.push('no part to try');
  return `${out.join('\n').trimEnd()}\n`;
}

/** Support worth a word: 10 g, and one patch of faces that needs most of it. */
const HEAVY_G = 10;
const MOST_LINES = 6;

/** What causes most support, heaviest first, and what would go in leaning. */
function supportLines(rows: readonly FitRow[], printers: readonly Printer[], width: number): string[] {
  const heavy = rows
    .filter((row) => (row.supportG ?? 0) >= HEAVY_G && (row.causes?.[0]?.share ?? 0) >= 0.5)
    .sort((a, b) => b.supportG! - a.supportG!);
  const causes = heavy
    .slice(0, MOST_LINES)
    .map((row) => `${row.name}, ${grams(row.supportG!)} g: ${causeLines(row.causes!)[0]!}`);
  const leaning = rows.flatMap((row) =>
    (row.leaning ?? [])
      .filter(({ pose }) => !row.verdicts.some(({ poseId }) => poseId === pose.id))
      .map(({ printerId, pose }) => {
        const printer = printers.find(({ id }) => id === printerId);
        return `${row.name} goes on ${printer === undefined ? printerId : shortPrinterName(printer)} whole only leaning: ${poseFacts(pose).join(', ')}`;
      }),
  );
  const lines = [...causes, ...leaning];
  return lines.length === 0 ? [] : ['', ...lines.flatMap((line) => hanging('  ', line, width))];
}

function verdictFor(row: FitRow, printerId: string): string {
  const fit = row.verdicts.find((v) => v.printerId === printerId);
  return fit === undefined ? '' : verdictText(fit);
}
