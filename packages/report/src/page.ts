import { createHash } from 'node:crypto';
import type { Plan } from '@stonehand/model';
import { cautionsOf } from './cautions.ts';
import { escapeXml } from './escape.ts';
import { listHtml, sentenceHtml, spanHtml, tableHtml } from './html.ts';
import { LOOK_STYLE } from './look-style.ts';
import { lookPanel, type PageView } from './page-look.ts';
import { type MarkedPictures, meshesSection } from './page-meshes.ts';
import { type Pictures, partsSection } from './page-parts.ts';
import { progressSection } from './page-progress.ts';
import { recipesSection } from './page-recipes.ts';
import { PAGE_STYLE } from './page-style.ts';
import { buySection, fitSection, massSection } from './page-tables.ts';
import { doSection, platesSection, timelineSection } from './page-work.ts';
import { planNames } from './plan-names.ts';
import { summaryOf } from './summary.ts';
import { num } from './svg.ts';
import { dayText, momentText } from './words.ts';

export type PageInput = Readonly<{
  plan: Plan;
  /** PNG bytes of posed pieces (posePng), by piece id */
  pictures?: Pictures;
  /** meshes with the places of their findings marked (markedPng), by part id */
  marked?: MarkedPictures;
  /** what makes the page more than paper: choosing and sorting parts, looking at each in 3D; without it every row is simply there */
  view?: PageView;
}>;

/**
 * The plan as one HTML file that opens from disk, without network: in words first, then what a person does when, plates to
 * scale, timeline, what fits, filament, mass, progress, parts, and how sure all that is. Every text of the plan is escaped, and a content
 * policy in the file lets nothing run but the page's own script.
 */
export function renderPage({ plan, pictures = {}, marked = {}, view }: PageInput): string {
  const names = planNames(plan);
  const meshes = meshesSection(plan, marked);
  const sections: readonly (readonly [string, string, string])[] = [
    ['do', 'What to do', doSection(plan, names)],
    ['plates', 'Plates', platesSection(plan, names)],
    ['time', 'Timeline', timelineSection(plan)],
    ['fit', 'What fits where', fitSection(plan, names)],
    ['buy', 'Filament and buying', buySection(plan, names)],
    ['mass', 'Mass and balance', massSection(plan)],
    ['progress', 'How far it is', progressSection(plan, names)],
    ['parts', 'Parts', partsSection(plan, names, pictures, view !== undefined)],
    ...(meshes === '' ? [] : [['meshes', 'Meshes to look at', meshes] as const]),
    ...(plan.otherRecipes === undefined ? [] : [['recipes', 'Other recipes', recipesSection(plan, names)] as const]),
    ['sure', 'How sure, and cautions', sureSection(plan)],
  ];
  const script =
    view === undefined ? "'none'" : `'sha256-${createHash('sha256').update(view.script).digest('base64')}'`;
  const policy = `default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src ${script}; base-uri 'none'; form-action 'none'`;
  return [
    '<!doctype html>',
    '<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="${policy}"><meta name="referrer" content="no-referrer">`,
    `<title>${escapeXml(plan.name)}: plan</title><style>${PAGE_STYLE}${view === undefined ? '' : LOOK_STYLE}</style></head>`,
    '<body><a class="skip" href="#summary">To the summary</a>',
    `<nav aria-label="Sections"><ul><li><a href="#summary">Summary</a></li>${sections.map(([id, title]) => `<li><a href="#${id}">${escapeXml(title)}</a></li>`).join('')}</ul></nav>`,
    `<main id="summary">${summarySection(plan)}`,
    ...sections.map(
      ([id, title, html]) =>
        `<section aria-labelledby="${id}"><h2 id="${id}">${escapeXml(title)}</h2>\n${html}</section>`,
    ),
    `<footer>Plan from ${escapeXml(momentText(plan.planFrom, plan))} (${escapeXml(plan.timeZone)}), seed ${plan.seed}, inputs <code>${escapeXml(plan.inputsHash)}</code>, made by ${escapeXml(plan.madeBy)}. Figures in brackets are the interval a value lies in with a chance of 8 in 10 unless its source says otherwise.</footer>`,
    '</main>',
    ...(view === undefined ? [] : [lookPanel(plan, names, view), `<script>${view.script}</script>`]),
    '</body></html>',
    '',
  ].join('\n');
}

function summarySection(plan: Plan): string {
  const s = summaryOf(plan);
  const until = plan.planTo === undefined ? '' : ` to ${momentText(plan.planTo, plan)}`;
  const cells = s.cells
    .map(
      (cell) =>
        `<div><div class="w">${escapeXml(cell.what)}</div><div class="n">${spanHtml(cell.figure)}</div><div class="q">${escapeXml(cell.detail)}</div></div>`,
    )
    .join('');
  const lead = [s.inTime, ...s.outlook, s.next, s.buy, s.unfit, ...s.mass, s.waits].filter(
    (sentence) => sentence.length > 0,
  );
  const assumed =
    plan.assumed.length === 0
      ? ''
      : `<p class="assumed">Assumed, because nothing said otherwise: ${escapeXml(plan.assumed.join('; '))}.</p>`;
  const first = cautionsOf(plan)[0];
  return [
    `<h1>${escapeXml(s.title)}</h1><p class="when">From ${escapeXml(dayText(plan.planFrom, plan))}, ${escapeXml(momentText(plan.planFrom, plan) + until)}</p>`,
    `<div class="lead">${lead.map((sentence) => `<p>${sentenceHtml(sentence)}</p>`).join('')}</div>`,
    `<div class="cells">${cells}</div>`,
    assumed,
    first === undefined ? '' : `<p class="note">${escapeXml(first)} <a href="#cautions">All cautions</a></p>`,
  ].join('\n');
}

const ENDED: Readonly<Record<string, string>> = {
  proven: 'proven best',
  rounds: 'all rounds done',
  time: 'stopped early by its time limit',
  interrupted: 'stopped by hand, best so far',
};

function sureSection(plan: Plan): string {
  const rows = plan.searches.map((s) => {
    const gap =
      s.bound === undefined
        ? ''
        : s.value === s.bound
          ? 'none: it is the bound'
          : s.bound === 0
            ? ''
            : `${num(Math.abs(s.value / s.bound - 1) * 100)} %`;
    return [
      escapeXml(s.what),
      num(s.value, 2),
      s.bound === undefined ? 'none known' : num(s.bound, 2),
      gap,
      String(s.rounds),
      escapeXml(ENDED[s.ended] ?? s.ended),
    ];
  });
  return [
    '<h3>Searches</h3><p class="soft">How far an answer may be from the best possible one, where a bound can be computed.</p>',
    tableHtml(
      [
        { title: 'search' },
        { title: 'found', right: true },
        { title: 'bound', right: true },
        { title: 'at most off by', right: true },
        { title: 'rounds', right: true },
        { title: 'ended' },
      ],
      rows,
      { none: 'No search was needed.' },
    ),
    plan.assumed.length === 0 ? '' : `<h3>Assumed</h3>${listHtml(plan.assumed)}`,
    `<h3 id="cautions">Cautions</h3>${listHtml(cautionsOf(plan), 'cautions')}<p class="soft">Local codes, data sheets, the printer’s manual and licensed practice come before anything on this page.</p>`,
    sourcesOf(plan),
  ].join('\n');
}

/** Where the figures came from, each source once: on paper nothing can be pointed at. */
function sourcesOf(plan: Plan): string {
  const uses = new Map<string, number>();
  const add = (from: string): void => void (from !== '' && uses.set(from, (uses.get(from) ?? 0) + 1));
  for (const plate of plan.plates) {
    add(plate.massG.from);
    add(plate.durationS.from);
  }
  for (const row of [...plan.buy, ...plan.buyAll]) add(row.needG.from);
  for (const report of plan.mass) for (const limit of report.limits) add(limit.value.from);
  if (uses.size === 0) return '';
  const shown = [...uses].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).slice(0, 12);
  return `<h3>What the figures came from</h3>${listHtml(shown.map(([from, n]) => `${from}${n > 1 ? ` (${n} figures)` : ''}`))}`;
}
