import type { Estimate, Finding, Plan } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import { lieText, poseFacts } from './fit-rows.ts';
import { durationHtml, massHtml, tableHtml } from './html.ts';
import { readingOfPart } from './part-findings.ts';
import { type PlanNames, recipeSentence } from './plan-names.ts';
import { durationValue, massValue } from './words.ts';

/** What is wrong or doubtful about a piece: the findings of its mesh, on the part's first piece only, since places are the part's. */
export function pieceFindings(plan: Plan, names: PlanNames, pieceId: string): readonly Finding[] {
  const part = names.part(names.piece(pieceId)?.partId ?? '');
  if (part === undefined || part.pieceIds[0] !== pieceId) return [];
  return readingOfPart(plan.readings, part)?.findings ?? [];
}

const KIND_WORDS: Readonly<Record<string, string>> = {
  outerPerimeter: 'outer perimeters',
  innerPerimeter: 'inner perimeters',
  solid: 'solid floors and roofs',
  bridge: 'bridges',
  infill: 'infill',
  support: 'support',
  contact: 'contact layers',
  brim: 'brim',
  purge: 'purge',
  travel: 'travel',
};

/** The facts beside the 3D view: recipe as a sentence, figures with their source, by kind of bead, other ways up, findings. */
export function pieceFactsHtml(plan: Plan, names: PlanNames, pieceId: string): string {
  const piece = names.piece(pieceId);
  if (piece === undefined) return '';
  const estimates = plan.estimates.filter((estimate) => estimate.pieceId === pieceId);
  const recipe = names.recipe(piece.recipeId);
  const part = names.part(piece.partId);
  const plates = plan.plates.filter((plate) => plate.placed.some(({ copyId }) => copyId.startsWith(`${pieceId}#`)));
  return [
    `<p>${escapeXml([recipe === undefined ? piece.recipeId : recipeSentence(recipe), names.materialName(piece.materialId)].join(', '))}.</p>`,
    `<p class="soft small">${escapeXml(`from ${part?.meshFile ?? ''}, ${piece.quantity} needed`)}${plates.length === 0 ? '' : `; on ${plates.map((plate) => `<a href="#plate-${escapeXml(plate.id)}">${escapeXml(plate.name)}</a>`).join(', ')}`}</p>`,
    estimatesHtml(plan, names, estimates),
    kindsHtml(plan, estimates[0]),
    posesHtml(names, pieceId),
    findingsHtml(pieceFindings(plan, names, pieceId)),
  ].join('\n');
}

function estimatesHtml(plan: Plan, names: PlanNames, estimates: readonly Estimate[]): string {
  if (estimates.length === 0) return '';
  const rows = estimates.map((estimate) => [
    escapeXml(names.printerName(estimate.printerId)),
    massHtml(estimate.massG, plan.unitsShown),
    durationHtml(estimate.durationS),
    `${(estimate.filamentMm / 1000).toFixed(1)} m`,
    `${estimate.peakFlowMm3S.toFixed(1)} mm³/s`,
  ]);
  return tableHtml(
    [
      { title: 'printer' },
      { title: 'each', right: true },
      { title: 'printing', right: true },
      { title: 'filament', right: true },
      { title: 'peak flow', right: true },
    ],
    rows,
  );
}

function kindsHtml(plan: Plan, estimate: Estimate | undefined): string {
  if (estimate === undefined) return '';
  const rows = estimate.byKind
    .filter((amount) => amount.durationS >= 0.5)
    .map((amount) => [
      escapeXml(KIND_WORDS[amount.kind] ?? amount.kind),
      amount.massG < 0.005 ? '' : escapeXml(massValue({ value: amount.massG, from: '' }, plan.unitsShown)),
      escapeXml(durationValue({ value: amount.durationS, from: '' })),
      `${(amount.pathMm / 1000).toFixed(1)} m`,
    ]);
  return `<details><summary>By kind of bead</summary>${tableHtml(
    [{ title: 'kind' }, { title: 'mass', right: true }, { title: 'time', right: true }, { title: 'path', right: true }],
    rows,
  )}</details>`;
}

/** The poses of a whole part; the buttons turn the 3D view. */
function posesHtml(names: PlanNames, pieceId: string): string {
  const piece = names.piece(pieceId)!;
  const others = piece.id === piece.partId ? (names.part(piece.partId)?.poses ?? []) : [];
  const poses = [piece.pose, ...others.filter((pose) => pose.id !== piece.pose.id)];
  if (poses.length < 2)
    return `<h3>Which way up</h3><p>${escapeXml([lieText(piece.pose), ...poseFacts(piece.pose)].join(', '))}.</p>`;
  const items = poses.map(
    (pose, i) =>
      `<li><button type="button" data-pose="${i}" aria-pressed="${i === 0}">${escapeXml(lieText(pose))}</button> <span class="small soft">${escapeXml([`${pose.heightMm.toFixed(0)} mm high`, ...poseFacts(pose)].join(', '))}${i === 0 ? '; planned' : ''}</span></li>`,
  );
  return `<h3>Which way up</h3><ul class="poses">${items.join('')}</ul>`;
}

function findingsHtml(findings: readonly Finding[]): string {
  if (findings.length === 0) return '';
  let mark = 0;
  const items = findings.map((finding) => {
    const at = finding.atMm === undefined ? '' : ` data-mark="${mark++}"`;
    const says = `${escapeXml(finding.says)}${finding.count > 1 ? ` (${finding.count})` : ''}${finding.remedy === undefined ? '' : ` <span class="soft">${escapeXml(finding.remedy)}</span>`}`;
    return at === '' ? `<li>${says}</li>` : `<li><button type="button"${at}>show</button> ${says}</li>`;
  });
  return `<h3>What is doubtful</h3><ul class="findings">${items.join('')}</ul>`;
}
