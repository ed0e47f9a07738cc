import type { Figure, UnitsShown } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import type { Sentence, Span } from './summary.ts';
import { durationText, massText } from './words.ts';

/** A figure that can be asked where it came from: by pointer, by keyboard, by touch. */
export function fromHtml(text: string, from: string | undefined): string {
  if (from === undefined || from === '') return escapeXml(text);
  return `<abbr class="from" tabindex="0" title="${escapeXml(from)}">${escapeXml(text)}</abbr>`;
}

export function massHtml(figure: Figure, units: UnitsShown): string {
  return fromHtml(massText(figure, units), figure.from);
}

export function durationHtml(figure: Figure): string {
  return fromHtml(durationText(figure), figure.from);
}

export function spanHtml(span: Span): string {
  const inner = fromHtml(span.text, span.from);
  return span.strong === true ? `<b>${inner}</b>` : inner;
}

export function sentenceHtml(sentence: Sentence): string {
  return sentence.map(spanHtml).join('');
}

export type Column = Readonly<{ title: string; right?: boolean; class?: string }>;

export type TableOptions = Readonly<{
  id?: string;
  none?: string;
  /** by row: attributes for the page's script, values as plain text */
  data?: readonly Readonly<Record<string, string>>[];
  /** by row and column: what the page's script sorts by; a column without values is not sorted */
  sortBy?: readonly (readonly (string | number | undefined)[])[];
}>;

/** Rows of cells that are HTML already. On narrow screens each row becomes a small card, so cells carry their column's title. */
export function tableHtml(
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
  { id, none = 'None.', data, sortBy }: TableOptions = {},
): string {
  if (rows.length === 0) return `<p class="soft">${escapeXml(none)}</p>`;
  const cls = (c: Column, blank: boolean = false): string => {
    const all = [c.right === true ? 'r' : '', c.class ?? '', blank ? 'blank' : ''].filter((x) => x !== '').join(' ');
    return all === '' ? '' : ` class="${all}"`;
  };
  const head = columns.map((c) => `<th scope="col"${cls(c)}>${escapeXml(c.title)}</th>`).join('');
  const cell = (html: string, c: Column, by: string | number | undefined): string =>
    `<td${cls(c, html === '')} data-label="${escapeXml(c.title)}"${by === undefined ? '' : ` data-by="${escapeXml(String(by))}"`}><div>${html}</div></td>`;
  const body = rows
    .map((row, r) => {
      const attributes = Object.entries(data?.[r] ?? {}).map(([name, value]) => ` data-${name}="${escapeXml(value)}"`);
      return `<tr${attributes.join('')}>${row.map((html, i) => cell(html, columns[i]!, sortBy?.[r]?.[i])).join('')}</tr>`;
    })
    .join('\n');
  return `<table class="stack"${id === undefined ? '' : ` id="${id}"`}><thead><tr>${head}</tr></thead><tbody>\n${body}\n</tbody></table>`;
}

export function listHtml(items: readonly string[], cls: string = ''): string {
  return `<ul${cls === '' ? '' : ` class="${cls}"`}>${items.map((item) => `<li>${escapeXml(item)}</li>`).join('')}</ul>`;
}

/** A drawing wide for a screen and paper, and narrow for a phone. */
export function both(draw: (widthPx: number) => string): string {
  return `<div class="wide">${draw(1040)}</div><div class="narrow">${draw(368)}</div>`;
}
