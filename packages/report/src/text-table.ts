import { plainLine } from './escape.ts';

export type TextOptions = Readonly<{ width?: number; colour?: boolean }>;
export type TextColumn = Readonly<{
  title: string;
  right?: boolean /** takes what is left of the width and wraps */;
  wraps?: boolean;
}>;

const GAP = 2;
const LEAST_WRAP = 14;

/**
 * Rows as columns for a terminal, never wider than width: the columns that wrap share what the others leave, and when even that
 * is too little each row becomes a small block of "title: text" lines. Cells are made harmless (plainLine).
 */
export function textTable(
  columns: readonly TextColumn[],
  rows: readonly (readonly string[])[],
  { width = 80, colour = false }: TextOptions = {},
): string {
  const cells = rows.map((row) => row.map(plainLine));
  const want = columns.map((c, i) => Math.max(textWidth(c.title), ...cells.map((row) => textWidth(row[i] ?? ''))));
  const widths = fitWidths(columns, want, width);
  if (widths === undefined) return blocks(columns, cells, width, colour);
  const head = line(
    columns,
    columns.map((c) => c.title),
    widths,
  );
  const out = [colour ? dim(head) : head];
  for (const row of cells) {
    const wrapped = row.map((cell, i) => wrapText(cell, widths[i]!));
    const lines = Math.max(1, ...wrapped.map((w) => w.length));
    for (let k = 0; k < lines; k++)
      out.push(
        line(
          columns,
          wrapped.map((w) => w[k] ?? ''),
          widths,
        ),
      );
  }
  return `${out.join('\n')}\n`;
}

function fitWidths(columns: readonly TextColumn[], want: readonly number[], width: number): number[] | undefined {
  const room = width - GAP * (columns.length - 1);
  const widths = [...want];
  const total = (): number => widths.reduce((a, b) => a + b, 0);
  // The widest of the wrapping columns gives way first, a letter at a time: columns end up as even as they can.
  while (total() > room) {
    let widest = -1;
    columns.forEach((c, i) => {
      if (c.wraps === true && widths[i]! > LEAST_WRAP && (widest < 0 || widths[i]! > widths[widest]!)) widest = i;
    });
    if (widest < 0) return undefined;
    widths[widest]!--;
  }
  return widths;
}

function blocks(
  columns: readonly TextColumn[],
  rows: readonly (readonly string[])[],
  width: number,
  colour: boolean,
): string {
  const out = rows.map((row) => {
    const name = row[0] ?? '';
    const rest = columns.slice(1).flatMap((c, i) => {
      const cell = row[i + 1] ?? '';
      return cell === '' ? [] : wrapText(`${c.title}: ${cell}`, width - 2).map((l) => `  ${l}`);
    });
    return [colour ? bold(name) : name, ...rest].join('\n');
  });
  return `${out.join('\n')}\n`;
}

function line(columns: readonly TextColumn[], cells: readonly string[], widths: readonly number[]): string {
  return columns
    .map((c, i) => {
      const pad = ' '.repeat(Math.max(0, widths[i]! - textWidth(cells[i] ?? '')));
      return c.right === true ? pad + (cells[i] ?? '') : (cells[i] ?? '') + pad;
    })
    .join(' '.repeat(GAP))
    .trimEnd();
}

/** Lines of at most width columns; a word that is longer is cut. */
export function wrapText(text: string, width: number): string[] {
  const lines: string[] = [];
  let now = '';
  for (const word of text.split(' ')) {
    const longer = now === '' ? word : `${now} ${word}`;
    if (textWidth(longer) <= width) {
      now = longer;
      continue;
    }
    if (now !== '') lines.push(now);
    now = word;
    while (textWidth(now) > width) {
      const cut = cutWord(now, width);
      lines.push(cut);
      now = now.slice(cut.length);
    }
  }
  if (now !== '' || lines.length === 0) lines.push(now);
  return lines;
}

/** A long word, a path mostly, is cut after a slash, hyphen or point where one comes late enough. */
function cutWord(word: string, width: number): string {
  const most = cutAt(word, width);
  const good = Math.max(most.lastIndexOf('/'), most.lastIndexOf('-'), most.lastIndexOf('.') - 1, most.lastIndexOf('_'));
  return good >= most.length / 3 ? most.slice(0, good + 1) : most;
}

function cutAt(text: string, width: number): string {
  let out = '';
  let used = 0;
  for (const letter of text) {
    const w = textWidth(letter);
    if (used + w > width && out !== '') break;
    out += letter;
    used += w;
  }
  return out;
}

/** Columns a text takes on a terminal: marks that combine take none, wide East Asian letters and emoji two (Unicode TR 11, main blocks). */
export function textWidth(text: string): number {
  let width = 0;
  for (const letter of text) {
    if (/\p{M}|\u200b|\u200d|\ufe0f/u.test(letter)) continue;
    const code = letter.codePointAt(0)!;
    const wide =
      (code >= 0x1100 && code <= 0x115f) ||
      (code >= 0x2e80 && code <= 0xa4cf) ||
      (code >= 0xac00 && code <= 0xd7a3) ||
      (code >= 0xf900 && code <= 0xfaff) ||
      (code >= 0xfe30 && code <= 0xfe6f) ||
      (code >= 0xff00 && code <= 0xff60) ||
      (code >= 0x1f300 && code <= 0x1faff) ||
      (code >= 0x20000 && code <= 0x3fffd);
    width += wide ? 2 : 1;
  }
  return width;
}

export function bold(text: string): string {
  return `\u001b[1m${text}\u001b[22m`;
}

function dim(text: string): string {
  return `\u001b[2m${text}\u001b[22m`;
}
