import { escapeXml } from './escape.ts';

/** A number for a drawing: at most one decimal (two where asked), no trailing zero. */
export function num(value: number, decimals: 0 | 1 | 2 = 1): string {
  const text = value.toFixed(decimals);
  return decimals === 0 ? text : text.replace(/\.?0+$/, '').replace(/^-0$/, '0');
}

/** Width of a text in ems of its size, near enough to place labels without a font (measured on common sans-serif faces: mean 0.53). */
export function textEms(text: string): number {
  let ems = 0;
  for (const c of text)
    ems += /[ijlI.,:;|!'’ ()]/.test(c) ? 0.3 : /[mwMW@%—]/.test(c) ? 0.86 : /[A-Z0-9]/.test(c) ? 0.6 : 0.53;
  return ems;
}

/** The text, or as much of its beginning as fits with an ellipsis; empty when not even three letters fit. */
export function fitText(text: string, width: number, size: number): string {
  if (textEms(text) * size <= width) return text;
  let cut = text;
  while (cut.length > 3 && textEms(`${cut}…`) * size > width) cut = cut.slice(0, -1);
  return textEms(`${cut}…`) * size <= width ? `${cut.trimEnd()}…` : '';
}

export type TextOptions = Readonly<{
  anchor?: 'start' | 'middle' | 'end';
  soft?: boolean;
  size?: number;
  halo?: boolean;
  strong?: boolean;
}>;

export function svgText(
  x: number,
  y: number,
  text: string,
  { anchor = 'start', soft = false, size = 12, halo = false, strong = false }: TextOptions = {},
): string {
  const fill = soft ? 'var(--soft,#595650)' : 'var(--ink,#1d1c1a)';
  // The halo keeps a name readable across an outline.
  const around = halo
    ? ' stroke="var(--card,#fff)" stroke-width="3" stroke-linejoin="round" paint-order="stroke" stroke-opacity=".8"'
    : '';
  return `<text x="${num(x)}" y="${num(y)}" font-size="${num(size)}"${anchor === 'start' ? '' : ` text-anchor="${anchor}"`}${strong ? ' font-weight="600"' : ''} fill="${fill}"${around}>${escapeXml(text)}</text>`;
}

export function svgLine(
  x1: number,
  y1: number,
  x2: number,
  y2: number,
  stroke: string = 'var(--line,#d9d4c8)',
  width: number = 1,
  more: string = '',
): string {
  return `<line x1="${num(x1)}" y1="${num(y1)}" x2="${num(x2)}" y2="${num(y2)}" stroke="${stroke}" stroke-width="${num(width, 2)}"${more}/>`;
}

export function svgRect(x: number, y: number, w: number, h: number, fill: string, more: string = ''): string {
  return `<rect x="${num(x)}" y="${num(y)}" width="${num(Math.max(0, w))}" height="${num(h)}" fill="${fill}"${more}/>`;
}

export const FONT: string = 'font-family="system-ui,Roboto,\'Liberation Sans\',sans-serif"';

/** A whole drawing with its name for those who cannot see it. */
export function svgDocument(
  view: readonly [number, number, number, number],
  label: string,
  body: string,
  more: string = '',
): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${view.map((v) => num(v)).join(' ')}" role="img" aria-label="${escapeXml(label)}" ${FONT}${more}>${body}</svg>`;
}
