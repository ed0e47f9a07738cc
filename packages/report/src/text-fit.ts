import type { Printer, UnitsShown } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { type FitRow, verdictText } from './fit-rows.ts';
import { hanging } from './hanging.ts';
import { shortPrinterName } from './plan-names.ts';
import { type TextOptions, textTable, wrapText } from './text-table.ts';
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
  if (hard.length > 0) {
    const columns = [
      { title: 'part', wraps: true },
      { title: units === 'US' ? 'size' : 'size mm' },
      ...printers.map((p) => ({ title: shortPrinterName(p) })),
      { title: 'why', wraps: true },
    ];
    const cells = hard.map((row) => [
      row.name,
      row.sizeMm === undefined ? '' : sizeText(row.sizeMm, units),
      ...printers.map((p) => verdictFor(row, p.id)),
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
  if (rows.length === 0) out.push('no part to try');
  return `${out.join('\n').trimEnd()}\n`;
}

function verdictFor(row: FitRow, printerId: string): string {
  const fit = row.verdicts.find((v) => v.printerId === printerId);
  return fit === undefined ? '' : verdictText(fit);
}
