import type { Pose, Printer, UnitsShown } from '@stonehand/model';
import { cividis } from './colours.ts';
import { escapeXml } from './escape.ts';
import { type FitRow, verdictText } from './fit-rows.ts';
import { PAGE_STYLE } from './page-style.ts';
import { shortPrinterName } from './plan-names.ts';
import { causeLines, grams } from './text-ways.ts';
import { sizeText } from './words.ts';

export type FitPagePart = Readonly<{
  row: FitRow;
  /** file names beside the page */
  picture: string;
  glb: string;
  overhangFromVerticalDeg: number;
  ways: readonly Readonly<{ pose: Pose; picture: string; supportG: number }>[];
}>;

export type FitPage = Readonly<{
  title: string;
  printers: readonly Printer[];
  rows: readonly FitRow[];
  parts: readonly FitPagePart[];
  units?: UnitsShown;
  bedNote?: string;
}>;

const STYLE = `
.matrix td{white-space:nowrap}.matrix td.why{white-space:normal;width:48%}.no{color:var(--warn);font-weight:600}
article{border-top:1px solid var(--line);padding:22px 0;display:grid;grid-template-columns:minmax(0,640px) minmax(0,1fr);gap:10px 26px}
article h3{margin:0 0 6px}article .big{width:100%;max-width:640px;height:auto}.ways{grid-column:1/-1;display:grid;grid-template-columns:repeat(auto-fill,minmax(210px,1fr));gap:14px 18px}
.ways figure{margin:0}.ways img{width:100%;height:auto;background:var(--card)}.ways figcaption{padding:0;font-size:13px}
.key{display:flex;gap:8px 22px;flex-wrap:wrap;align-items:center;font-size:14px;color:var(--soft);margin:10px 0 0}.key svg{display:inline-block;vertical-align:-2px;margin-right:6px}
@media screen and (max-width:860px){article{grid-template-columns:1fr}}
`;

/** The matrix of parts and printers, then each part on its bed with its overhangs and support, and its other ways up. */
export function renderFitPage({ title, printers, rows, parts, units = 'metric', bedNote }: FitPage): string {
  const beds = printers
    .map((p) => `${shortPrinterName(p)} ${sizeText([...p.plateSizeMm, p.heightMm], units)}`)
    .join(', ');
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escapeXml(title)}: what fits</title><style>${PAGE_STYLE}${STYLE}</style></head>
<body><main>
<h1>${escapeXml(title)}: what fits, and which way up</h1>
<p class="when">bed: ${escapeXml(beds)}${bedNote === undefined ? '' : ` (${escapeXml(bedNote)})`}</p>
${key(parts[0]?.overhangFromVerticalDeg ?? 45)}
<h2>Part and printer</h2>
<div class="scroll"><table class="matrix"><thead><tr><th>part</th><th>size mm</th>${printers
    .map((p) => `<th>${escapeXml(shortPrinterName(p))}</th>`)
    .join('')}<th class="r">support</th><th>why</th></tr></thead><tbody>
${rows.map((row) => matrixRow(row, printers, parts, units)).join('\n')}
</tbody></table></div>
<h2>Which way up</h2>
${parts.map(partBlock).join('\n')}
</main></body></html>
`;
}

function key(limitDeg: number): string {
  const stops = Array.from({ length: 9 }, (_, i) => {
    const [r, g, b] = cividis(i / 8);
    return `<stop offset="${i / 8}" stop-color="rgb(${r},${g},${b})"/>`;
  }).join('');
  return `<div class="key"><span><svg width="150" height="12" role="img" aria-label="ramp of the overhang angle"><defs><linearGradient id="ramp">${stops}</linearGradient></defs><rect width="150" height="12" fill="url(#ramp)"/></svg>overhang ${limitDeg}° to 90° from vertical</span>
<span><svg width="16" height="12"><rect width="16" height="12" fill="rgb(86,180,233)" fill-opacity=".5"/></svg>support, seen through</span><span>grid of the bed: 10 mm</span></div>`;
}

function matrixRow(
  row: FitRow,
  printers: readonly Printer[],
  parts: readonly FitPagePart[],
  units: UnitsShown,
): string {
  const verdicts = printers.map((printer) => {
    const fit = row.verdicts.find((v) => v.printerId === printer.id);
    const text = fit === undefined ? '' : verdictText(fit);
    return `<td${fit?.verdict === 'no' || fit?.refused !== undefined ? ' class="no"' : ''}>${escapeXml(text)}</td>`;
  });
  const at = parts.findIndex((part) => part.row.partId === row.partId);
  const name = at < 0 ? escapeXml(row.name) : `<a href="#part-${at}">${escapeXml(row.name)}</a>`;
  const support = row.supportG === undefined ? '' : `${grams(row.supportG)} g`;
  return `<tr><td>${name}</td><td>${row.sizeMm === undefined ? '' : sizeText(row.sizeMm, units)}</td>${verdicts.join('')}<td class="r">${support}</td><td class="why">${escapeXml(row.why)}</td></tr>`;
}

function partBlock({ row, picture, glb, ways }: FitPagePart, at: number): string {
  const [best, ...others] = ways;
  if (best === undefined) return '';
  const bed = row.smallestBedMm;
  const facts = [
    `${best.pose.reason}.`,
    ...(best.pose.why === undefined ? [] : [`${best.pose.why}.`]),
    ...causeLines(row.causes ?? []).map((line) => `${line}.`),
    ...(bed === undefined
      ? []
      : [`The smallest bed that holds it so: ${bed.map((v) => Math.ceil(v)).join(' × ')} mm.`]),
  ];
  return `<article id="part-${at}"><img class="big" src="${escapeXml(encodeURI(picture))}" alt="${escapeXml(`${row.name} on the bed, from above and from below`)}">
<div><h3>${escapeXml(row.name)}</h3>${facts.map((line) => `<p class="small">${escapeXml(line)}</p>`).join('')}
<p class="small"><a href="${escapeXml(encodeURI(glb))}">3D model (GLB)</a></p></div>
${others.length === 0 ? '' : `<div class="ways">${others.map(wayFigure).join('')}</div>`}</article>`;
}

function wayFigure({ pose, picture, supportG }: FitPagePart['ways'][number], i: number): string {
  const caption = `${i + 2}. ${pose.reason}; ${grams(supportG)} g of support${pose.why === undefined ? '' : `; ${pose.why}`}`;
  return `<figure><img src="${escapeXml(encodeURI(picture))}" alt="${escapeXml(`way ${i + 2}`)}" loading="lazy"><figcaption>${escapeXml(caption)}</figcaption></figure>`;
}
