import type { Buy, MassReport, Plan, Printer } from '@stonehand/model';
import { balanceSvg } from './balance-svg.ts';
import { escapeXml } from './escape.ts';
import { filamentSvg } from './filament-svg.ts';
import { fitRows, verdictText } from './fit-rows.ts';
import { both, fromHtml, listHtml, massHtml, tableHtml } from './html.ts';
import { allowedText, flatten, limitChance, limitLines, limitValue, marginText, missingWords } from './limit-lines.ts';
import { massSvg } from './mass-svg.ts';
import { massTreeSvg } from './mass-tree-svg.ts';
import { type PlanNames, shortPrinterName } from './plan-names.ts';
import { swatch } from './plate-svg.ts';
import { consumableText, dateText, moneyText } from './text-buy.ts';
import { capital, countOf, durationText, listWords, massText, momentText, placeText, sizeText } from './words.ts';

/** Part × printer, worst first. */
export function fitSection(plan: Plan, names: PlanNames): string {
  const all = fitRows(plan);
  // What fits everywhere as it is needs no row; it would bury what does not.
  const easy = all.filter((row) => row.verdicts.every((v) => v.verdict === 'asIs' && v.refused === undefined));
  const hard = all.filter((row) => !easy.includes(row));
  const rows = hard.map((row) => {
    const pieces = plan.pieces.filter((piece) => piece.partId === row.partId);
    const supportMm3 = pieces.reduce((sum, piece) => sum + piece.pose.supportMm3, 0);
    const estimates = pieces.map((piece) => names.estimate(piece.id)).filter((e) => e !== undefined);
    const support =
      estimates.length === 0
        ? ''
        : supportText(
            plan,
            pieces.map((p) => p.id),
            names,
            supportMm3,
          );
    const hours =
      estimates.length === 1
        ? durationText(estimates[0]!.durationS)
        : estimates.length === 0
          ? ''
          : durationText(sumOf(estimates.map((e) => e.durationS)));
    return [
      escapeXml(row.name),
      row.sizeMm === undefined ? '' : escapeXml(sizeText(row.sizeMm, plan.unitsShown)),
      ...plan.printers.map((printer) => {
        const fit = row.verdicts.find((v) => v.printerId === printer.id);
        if (fit === undefined) return '';
        const text = escapeXml(verdictText(fit));
        return fit.verdict === 'no' || fit.refused !== undefined ? `<span class="bad">${text}</span>` : text;
      }),
      escapeXml(support),
      escapeXml(hours),
      row.why === '' ? '' : `<span class="small">${escapeXml(row.why)}</span>`,
    ];
  });
  const bed = plan.printers
    .map(
      (p) => `${printerTitle(p)} ${sizeText([...p.plateSizeMm, p.heightMm], plan.unitsShown)}, ${p.marginMm} mm margin`,
    )
    .join('; ');
  const columns = [
    { title: 'part' },
    { title: plan.unitsShown === 'US' ? 'size' : 'size, mm', class: 'one' },
    ...plan.printers.map((p) => ({ title: names.printerName(p.id) })),
    { title: 'support', right: true },
    { title: 'printing', right: true },
    { title: 'why' },
  ];
  return `<p class="soft">${escapeXml(bed)}. Turned: flat on the plate at an angle; tipped: another side down.</p>${tableHtml(columns, rows, { none: all.length === 0 ? 'No part was tried against a printer.' : 'Every part fits every printer as it is.' })}${easy.length === 0 || hard.length === 0 ? '' : `<p class="soft">${escapeXml(`${countOf(easy.length, 'part')} ${easy.length === 1 ? 'fits' : 'fit'} every printer as ${easy.length === 1 ? 'it is' : 'they are'}: ${listWords(easy.map((row) => row.name))}.`)}</p>`}`;
}

/** Both the label that stands everywhere else and the whole name. */
function printerTitle(printer: Printer): string {
  const short = shortPrinterName(printer);
  return printer.name === undefined || printer.name === short ? short : `${short} (${printer.name})`;
}

function sumOf(figures: readonly { value: number; low?: number; high?: number }[]): {
  value: number;
  low: number;
  high: number;
  from: string;
} {
  return {
    value: figures.reduce((s, f) => s + f.value, 0),
    low: figures.reduce((s, f) => s + (f.low ?? f.value), 0),
    high: figures.reduce((s, f) => s + (f.high ?? f.value), 0),
    from: '',
  };
}

function supportText(plan: Plan, pieceIds: readonly string[], names: PlanNames, supportMm3: number): string {
  const grams = pieceIds.reduce(
    (sum, id) =>
      sum +
      (names.estimate(id)?.byKind ?? []).reduce(
        (g, a) => g + (a.kind === 'support' || a.kind === 'contact' ? a.massG : 0),
        0,
      ),
    0,
  );
  if (supportMm3 === 0 && grams < 0.05) return 'none';
  if (grams < 0.5 && plan.unitsShown === 'metric') return 'under 1 g';
  return massText({ value: grams, from: '' }, plan.unitsShown);
}

export function buySection(plan: Plan, names: PlanNames): string {
  const materials = plan.materials.filter(
    (m) => plan.buy.some((b) => b.materialId === m.id) || plan.buyAll.some((b) => b.materialId === m.id),
  );
  const rows = materials.map((material) => {
    const now = plan.buy.find((b) => b.materialId === material.id);
    const all = plan.buyAll.find((b) => b.materialId === material.id);
    const need = (b: typeof now): string =>
      b === undefined
        ? '<span class="soft">none</span>'
        : fromHtml(massText(b.needG, plan.unitsShown), needFrom(b, plan));
    const buy = (b: typeof now): string =>
      b === undefined || b.spools === 0
        ? '<span class="soft">nothing</span>'
        : `<b>${countOf(b.spools, 'spool')}</b>${b.price === undefined ? '' : `, ${moneyText(b.price, plan)}`}${orderHtml(b, plan)}`;
    return [
      `${swatch(names.materialIndex(material.id))}${escapeXml(names.materialName(material.id))}`,
      need(now),
      need(all),
      shelfHtml((now ?? all)!, plan),
      buy(now),
      buy(all),
    ];
  });
  const drawing =
    materials.length === 0
      ? ''
      : `<div class="wide">${filamentSvg(plan)}</div><div class="narrow">${filamentSvg(plan, { widthPx: 368 })}</div>`;
  return [
    drawing,
    tableHtml(
      [
        { title: 'filament' },
        { title: 'this window needs', right: true },
        { title: 'all that remains needs', right: true },
        { title: 'on the shelf', right: true },
        { title: 'buy now', right: true },
        { title: 'buy for all', right: true },
      ],
      rows,
      { none: 'No filament is needed.' },
    ),
    `<h3>Bought items</h3>${boughtHtml(plan)}`,
    usedUpHtml(plan),
  ].join('\n');
}

/** What to have at hand, as a list in columns; magnetic only where a magnet is there to attract it. */
function boughtHtml(plan: Plan): string {
  if (plan.hardware.length === 0) return '<p class="soft">No bought item is listed.</p>';
  const items = plan.hardware.map(({ item, quantity, orderBy, late }) => {
    const mass = massText({ value: item.massG * quantity, from: '' }, plan.unitsShown);
    const more = [
      ...(item.price === undefined ? [] : [moneyText(item.price * quantity, plan)]),
      ...(item.leadDays === undefined ? [] : [countOf(item.leadDays, 'day')]),
      ...(orderBy === undefined ? [] : [`order by ${dateText(orderBy)}${late === true ? ' (over)' : ''}`]),
    ];
    const note = item.note === undefined ? '' : `<br><span class="small soft">${escapeXml(item.note)}</span>`;
    const figures = [fromHtml(mass, item.massFrom), ...more.map(escapeXml)].join(' · ');
    return `<li><b>${quantity}</b> × ${escapeXml(item.name)} <span class="soft">${figures}</span>${note}</li>`;
  });
  const isMagnet = (name: string): boolean => /\bmagnets?\b/i.test(name);
  const attracted = plan.hardware
    .map(({ item }) => item)
    .filter((item) => item.magnetic && !isMagnet(item.name))
    .map((item) => item.name);
  const magnets =
    attracted.length === 0 || !plan.hardware.some(({ item }) => isMagnet(item.name))
      ? ''
      : `<p class="small soft">Sticks to the magnets in the list: ${escapeXml(listWords(attracted))}.</p>`;
  const priced = plan.hardware.filter(({ item }) => item.price !== undefined);
  const sum = priced.reduce((total, { item, quantity }) => total + (item.price ?? 0) * quantity, 0);
  const key = `mass${priced.length === 0 ? '' : ` · price, ${moneyText(sum, plan)} together`}${plan.hardware.some(({ item }) => item.leadDays !== undefined) ? ' · days until it is there' : ''}`;
  return `<p class="soft small">Behind each item: ${key}.</p><ul class="bought">${items.join('\n')}</ul>${magnets}`;
}

/** Glue, solvent and what finishing takes, with what it is for. */
function usedUpHtml(plan: Plan): string {
  const { consumables = [] } = plan;
  if (consumables.length === 0) return '';
  return `<h3>Used up</h3>${listHtml(consumables.map((one) => consumableText(one, plan)))}`;
}

/** What a need is made of, after where it came from. */
function needFrom(buy: Buy, plan: Plan): string {
  const g = (value: number): string => massText({ value, from: '' }, plan.unitsShown);
  const made = [
    buy.netG === undefined ? '' : `parts ${g(buy.netG)}`,
    buy.supportG === undefined ? '' : `support ${g(buy.supportG)}`,
    buy.purgeG === undefined ? '' : `purge ${g(buy.purgeG)}`,
    buy.failuresG === undefined ? '' : `expected failures ${g(buy.failuresG)}`,
  ].filter((text) => text !== '');
  return [buy.needG.from, made.join(', ')].filter((text) => text !== '').join(': ');
}

function orderHtml({ neededAt, orderBy, late }: Buy, plan: Plan): string {
  const said = [
    neededAt === undefined ? '' : `needed ${momentText(neededAt, plan)}`,
    orderBy === undefined ? '' : `order by ${dateText(orderBy)}${late === true ? ' (over)' : ''}`,
  ].filter((text) => text !== '');
  return said.length === 0 ? '' : `<br><span class="small soft">${escapeXml(said.join(', '))}</span>`;
}

function shelfHtml(buy: Buy, plan: Plan): string {
  const g = (value: number): string => escapeXml(massText({ value, from: '' }, plan.unitsShown));
  const stranded = buy.strandedG ?? 0;
  return `${g(buy.shelfG)}${stranded < 0.5 ? '' : `<br><span class="small soft">and ${g(stranded)} in ends too short for a run</span>`}`;
}

export function massSection(plan: Plan): string {
  if (plan.mass.length === 0) return '<p class="soft">No assembly was weighed.</p>';
  const rows = flatten(plan.mass).map((report) => massRow(plan, report));
  return [
    both((widthPx) => massSvg(plan.mass, plan.unitsShown, { widthPx })),
    tableHtml(
      [
        { title: 'assembly' },
        { title: 'mass', right: true },
        { title: 'printed', right: true },
        { title: 'bought', right: true },
        { title: 'centre x, y, z', right: true },
        { title: 'limits' },
      ],
      rows,
    ),
    missingHtml(plan),
    ...flatten(plan.mass).map((report) => balancedHtml(plan, report)),
    ...plan.mass.map(
      (report) =>
        `<h3>${escapeXml(report.name)}: where the grams are</h3>${both((widthPx) => massTreeSvg(report, { units: plan.unitsShown, widthPx }))}`,
    ),
  ].join('\n');
}

/** Three views of an assembly whose balance is limited. */
function balancedHtml(plan: Plan, report: MassReport): string {
  const { massG: _, down: __, ...balance } = report.stated ?? {};
  if (Object.keys(balance).length === 0 || (report.bodies ?? []).length === 0) return '';
  const draw = (widthPx: number): string =>
    balanceSvg(report, { shapes: plan.shapes ?? {}, units: plan.unitsShown, widthPx });
  return `<h3>${escapeXml(report.name)}: where it balances</h3>${both(draw)}`;
}

/** Counted in one line; each of them only for who asks. */
function missingHtml(plan: Plan): string {
  const missing = [...new Set(flatten(plan.mass).flatMap((report) => report.missing))];
  if (missing.length === 0) return '';
  return `<details><summary>${escapeXml(capital(missingWords(missing)))}</summary>${listHtml(missing, 'small')}</details>`;
}

function massRow(plan: Plan, report: MassReport): string[] {
  const units = plan.unitsShown;
  const limits = limitLines(report).map((line) => {
    const margin = escapeXml(marginText(line, units));
    const chance = limitChance(line);
    return `${escapeXml(line.what)} ${fromHtml(limitValue(line, units), line.value.from)}, ${escapeXml(allowedText(line, units))}: ${line.margin < 0 ? `<span class="bad">${margin}</span>` : margin}${chance === '' ? '' : `, ${escapeXml(chance)}`}`;
  });
  const byMaterial = Object.entries(report.byMaterialG)
    .map(([id, g]) => `${id} ${massText({ value: g, from: '' }, units)}`)
    .join(', ');
  return [
    escapeXml(report.name),
    massHtml(report.massG, units),
    fromHtml(massText({ value: report.printedG, from: '' }, units), byMaterial),
    escapeXml(massText({ value: report.boughtG, from: '' }, units)),
    escapeXml(placeText(report.centreMm, units)),
    limits.join('<br>'),
  ];
}
