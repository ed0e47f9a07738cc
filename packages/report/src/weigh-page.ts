import type { MassReport, UnitsShown } from '@stonehand/model';
import { balanceSvg, type Shapes } from './balance-svg.ts';
import { escapeXml } from './escape.ts';
import { both, massHtml, tableHtml } from './html.ts';
import { savingsSvg, tradeOffSvg } from './lighten-svg.ts';
import { allowedText, flatten, limitChance, limitLines, limitValue, marginText } from './limit-lines.ts';
import { massSvg } from './mass-svg.ts';
import { massTreeSvg } from './mass-tree-svg.ts';
import { PAGE_STYLE } from './page-style.ts';
import { type ProposalText, renderProposal } from './text-weigh.ts';
import { changedWords, durationText, massText, placeText } from './words.ts';

export type WeighPage = Readonly<{
  title: string;
  reports: readonly MassReport[];
  /** for each report, what is proposed for it */
  proposals?: readonly (ProposalText | undefined)[];
  shapes?: Shapes;
  units?: UnitsShown;
}>;

/** Mass and balance alone as one HTML file that opens from disk: bars, tree, three views, limits, and what is proposed. */
export function renderWeighPage({ title, reports, proposals = [], shapes = {}, units = 'metric' }: WeighPage): string {
  const policy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";
  return [
    '<!doctype html>',
    '<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="${policy}"><meta name="referrer" content="no-referrer">`,
    `<title>${escapeXml(title)}: mass and balance</title><style>${PAGE_STYLE}</style></head><body><main>`,
    `<h1>${escapeXml(title)}: mass and balance</h1>`,
    both((widthPx) => massSvg(reports, units, { widthPx })),
    ...reports.flatMap((report, i) => [
      `<section><h2>${escapeXml(report.name)}</h2>${balanceHtml(report, shapes, units)}`,
      proposals[i] === undefined ? '' : proposalHtml(report, proposals[i], shapes, units),
      '</section>',
    ]),
    '<footer>Figures in brackets are the interval a value lies in with a chance of 8 in 10. A limit is a promise about a figure, not about safety: try out with care what is worn or carried overhead; local rules and licensed practice come first.</footer>',
    '</main></body></html>',
    '',
  ].join('\n');
}

/** Tree, three views and limits of one assembly. */
function balanceHtml(report: MassReport, shapes: Shapes, units: UnitsShown): string {
  const placed = (report.bodies ?? []).length > 0;
  return [
    placed ? both((widthPx) => balanceSvg(report, { shapes, units, widthPx })) : '',
    '<h3>Where the grams are</h3>',
    both((widthPx) => massTreeSvg(report, { units, widthPx })),
    limitsHtml(report, units),
  ].join('\n');
}

function limitsHtml(report: MassReport, units: UnitsShown): string {
  const rows = flatten([report]).flatMap((one) =>
    limitLines(one).map((line) => [
      escapeXml(`${one.name}, ${line.what}`),
      escapeXml(limitValue(line, units)),
      escapeXml(allowedText(line, units)),
      line.margin < 0
        ? `<span class="bad">${escapeXml(marginText(line, units))}</span>`
        : escapeXml(marginText(line, units)),
      escapeXml(limitChance(line)),
    ]),
  );
  if (rows.length === 0) return '';
  const columns = [
    { title: 'limit' },
    { title: 'now', right: true },
    { title: 'allowed' },
    { title: 'margin' },
    { title: '' },
  ];
  return `<h3>Limits</h3>${tableHtml(columns, rows)}`;
}

function proposalHtml(report: MassReport, proposal: ProposalText, shapes: Shapes, units: UnitsShown): string {
  const { lightened } = proposal;
  const words = (text: string): string => `<p>${escapeXml(text.trim())}</p>`;
  if (lightened === undefined)
    return `<h3>Counterweights and moves</h3>${words(renderProposal(report, proposal, { width: 4000, units }))}`;
  const { changes, before, after, beforeS, afterS, curve } = lightened;
  const rows = changes.map((change) => [
    escapeXml(change.copies === 1 ? change.name : `${change.name}, ${change.copies} copies`),
    escapeXml(change.from),
    escapeXml(changedWords(change.from, change.to)),
    escapeXml(massText({ value: change.savedG, from: '' }, units)),
    escapeXml(durationText({ value: Math.abs(change.savedS), from: '' }) + (change.savedS < 0 ? ' more' : '')),
    `${Math.round(change.stiffness * 100)} %`,
  ]);
  const columns = [
    { title: 'part' },
    { title: 'now' },
    { title: 'instead' },
    { title: 'saves', right: true },
    { title: 'printing saved', right: true },
    { title: 'stiffness', right: true },
  ];
  const { ballasted } = proposal;
  const proof =
    lightened.search.gap < 1e-6
      ? 'No choice among the allowed recipes costs less.'
      : `At most ${Number((lightened.search.gap * 100).toPrecision(2))} % from the least cost.`;
  return [
    '<h3>Printed lighter</h3>',
    `<p>${massHtml(before.massG, units)} today, ${massHtml(after.massG, units)} then; ${escapeXml(durationText({ value: beforeS, from: '' }))} of printing today, ${escapeXml(durationText({ value: afterS, from: '' }))} then. Centre ${escapeXml(placeText(before.centreMm, units))} today, ${escapeXml(placeText(after.centreMm, units))} then. ${lightened.holds ? 'All limits hold.' : '<span class="bad">Not all limits can be kept by printing otherwise.</span>'} ${proof}</p>`,
    changes.length === 0 ? '' : both((widthPx) => savingsSvg(lightened, { units, widthPx })),
    tableHtml(columns, rows, { none: 'Nothing to print otherwise.' }),
    curve.length > 1
      ? `<h3>Mass against hours</h3><div style="max-width:560px">${tradeOffSvg(lightened, { units })}</div><p class="soft">Each point: the least cost in hours and stiffness for that mass, all limits kept where they can be.</p>`
      : '',
    '<h3>Where it balances then</h3>',
    both((widthPx) => balanceSvg(after, { shapes, units, widthPx })),
    limitsHtml(after, units),
    ballasted === undefined
      ? ''
      : `<h3>Counterweights and moves</h3>${words(renderProposal(report, { ballasted }, { width: 4000, units }))}`,
  ].join('\n');
}
