import type { Finding, Plan } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import { markCss, markSign, markWords } from './mark-kinds.ts';
import { type MeshFindings, meshesToLookAt } from './part-findings.ts';
import { capital, listWords, placeText } from './words.ts';

/** A picture of a mesh with the places of its findings marked, and what is marked in it. */
export type MarkedPicture = Readonly<{ png: Uint8Array; kinds: readonly Readonly<{ code: string; count: number }>[] }>;
/** by part id */
export type MarkedPictures = Readonly<Record<string, MarkedPicture>>;

/** What is doubtful about each mesh: a picture with the places marked, then what it is, what it does and what to do. Empty for sound meshes. */
export function meshesSection(plan: Plan, marked: MarkedPictures): string {
  return meshesToLookAt(plan)
    .map((mesh) => meshHtml(plan, mesh, marked[mesh.partId]))
    .join('\n');
}

function meshHtml(plan: Plan, { names, findings }: MeshFindings, marked: MarkedPicture | undefined): string {
  const title = capital(listWords(names));
  const items = findings.map((finding) => findingHtml(plan, finding)).join('');
  const figure = marked === undefined ? '' : figureHtml(title, marked, findings);
  const bare = figure === '' ? ' bare' : '';
  return `<div class="mesh${bare}">${figure}<div><h3>${escapeXml(title)}</h3><ul>${items}</ul></div></div>`;
}

function findingHtml(plan: Plan, { says, remedy, atMm, severity }: Finding): string {
  const place =
    atMm === undefined ? '' : ` <span class="soft">At ${escapeXml(placeText(atMm, plan.unitsShown))}.</span>`;
  const strong = severity === 'stop' ? ' class="bad"' : '';
  const todo = remedy === undefined ? '' : `<br><span class="soft">${escapeXml(remedy)}</span>`;
  return `<li><span${strong}>${escapeXml(says)}</span>${place}${todo}</li>`;
}

function figureHtml(title: string, { png, kinds }: MarkedPicture, findings: readonly Finding[]): string {
  const data = Buffer.from(png.buffer, png.byteOffset, png.byteLength).toString('base64');
  const legend = kinds
    .map(({ code, count }) => `<span>${signSvg(code)}${escapeXml(`${count} ${markWords(code, count)}`)}</span>`)
    .join('');
  const before = findings.some(({ code }) => code === 'mended') ? 'Before mending, from' : 'From';
  const from = `${before} the front above and from the back below; faint: behind the surface.`;
  return `<figure><img width="880" height="420" loading="lazy" src="data:image/png;base64,${data}" alt="${escapeXml(`${title} with the places of its faults marked, from the front above and from the back below`)}"><figcaption>${legend}<span class="soft">${from}</span></figcaption></figure>`;
}

/** The same sign as in the picture: a line, a filled face or a ring. */
function signSvg(code: string): string {
  const colour = markCss(code);
  const sign =
    markSign(code) === 'line'
      ? `<line x1="1" y1="7" x2="13" y2="7" stroke="${colour}" stroke-width="3"/>`
      : markSign(code) === 'face'
        ? `<rect x="2" y="2" width="10" height="10" fill="${colour}"/>`
        : `<circle cx="7" cy="7" r="5" fill="none" stroke="${colour}" stroke-width="2"/>`;
  return `<svg class="swatch" width="14" height="14" viewBox="0 0 14 14" aria-hidden="true">${sign}</svg>`;
}
