import type { Piece, Plan, Plate, Recipe, Run } from '@stonehand/model';
import { cautionsOf } from './cautions.ts';
import { escapeXml } from './escape.ts';
import { durationHtml, listHtml, massHtml } from './html.ts';
import type { Pictures } from './page-parts.ts';
import { layerCount, type PlanNames, pieceOfCopy, planNames, recipeSentence } from './plan-names.ts';
import { plateSvg, swatch } from './plate-svg.ts';
import { num } from './svg.ts';
import { TRAVELLER_STYLE } from './traveller-style.ts';
import { watchPoints } from './watch-points.ts';
import { capital, countOf, durationText, listWords, massText, momentText } from './words.ts';

export type TravellerInput = Readonly<{
  plan: Plan;
  /** the plates to print a sheet for; default: all, those with a run first and in the order of their starts */
  plateIds?: readonly string[];
  /** PNG of a piece as it lies, by piece id */
  pictures?: Pictures;
}>;

/**
 * The sheets that travel with the plates, one a page, as an HTML document for the printer: the plate to scale, the poses, the
 * recipe, what to compare with, what to watch, put in and finish, and boxes to tick for what came of it.
 */
export function renderTravellers({ plan, plateIds, pictures = {} }: TravellerInput): string {
  const names = planNames(plan);
  const plates = (plateIds ?? inOrder(plan, names)).flatMap((id) => {
    const plate = names.plate(id);
    return plate === undefined ? [] : [plate];
  });
  const sheets = plates.map((plate, i) => sheet(plan, names, plate, pictures, `${i + 1} of ${plates.length}`));
  const title = `${plan.name}: sheets for ${countOf(plates.length, 'plate')}`;
  return `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>${escapeXml(title)}</title><style>${TRAVELLER_STYLE}</style></head><body>${sheets.length === 0 ? '<p>No plate was made up.</p>' : sheets.join('\n')}</body></html>\n`;
}

function inOrder(plan: Plan, names: PlanNames): string[] {
  const startOf = (plate: Plate): number => Date.parse(names.runOfPlate(plate.id)?.start ?? '9999-01-01T00:00:00Z');
  return plan.plates
    .map((plate, i) => ({ plate, i }))
    .sort((a, b) => startOf(a.plate) - startOf(b.plate) || a.i - b.i)
    .map(({ plate }) => plate.id);
}

function sheet(plan: Plan, names: PlanNames, plate: Plate, pictures: Pictures, number: string): string {
  const recipe = names.recipe(plate.recipeId);
  const run = names.runOfPlate(plate.id);
  const printer = names.printer(plate.printerId);
  const drawing =
    printer === undefined
      ? { svg: '', widthMm: 0, key: [] }
      : plateSvg({
          plate,
          printer,
          piece: names.piece,
          name: names.pieceName,
          recipe,
          materialIndex: names.materialIndex,
        });
  const key =
    drawing.key.length === 0
      ? ''
      : `<p class="key">${drawing.key.map((k) => `<b>${k.number}</b> ${escapeXml(k.name)}`).join(' · ')}</p>`;
  return `<section class="sheet"><header><h1>${escapeXml(capital(plate.name))}</h1><p>${escapeXml(`${names.printerName(plate.printerId)} · ${plan.name} · sheet ${number}`)}<span class="mark">${escapeXml(plate.id.slice(-6))}</span></p></header>
<div class="top"><figure style="--w:${num(drawing.widthMm)}">${drawing.svg}<figcaption>Seen from above, front edge below; 1 : 3, ruler in mm.</figcaption>${key}</figure><div>${facts(plan, names, plate, run, recipe)}${compare(plan, plate, recipe)}</div></div>
${poses(names, plate, pictures)}
<div class="two"><div>${settings(names, plate, recipe)}</div><div>${todo(plan, names, plate, recipe)}</div></div>
${outcome(plan, names, plate)}
<footer>${escapeXml(cautionLine(plan))}</footer></section>`;
}

function facts(plan: Plan, names: PlanNames, plate: Plate, run: Run | undefined, recipe: Recipe | undefined): string {
  const materials = plate.materialIds
    .map((id) => `${swatch(names.materialIndex(id))}${escapeXml(names.materialName(id))}`)
    .join(', ');
  const spools = (run?.spools ?? []).map(
    ({ spoolId, massG }) => `${spoolId} (needs ${massText({ value: massG, from: '' }, plan.unitsShown)})`,
  );
  const rows: [string, string][] = [
    ['material', materials],
    ['spool', spools.length === 0 ? 'not chosen yet' : escapeXml(listWords(spools))],
    ['starts', run === undefined ? 'not in this window' : escapeXml(momentText(run.start, plan))],
    ['watch until', run === undefined ? '' : escapeXml(momentText(run.watchedUntil, plan))],
    ['ends', run === undefined ? '' : `about ${escapeXml(endsText(plan, plate, run))}`],
    ['takes', durationHtml(plate.durationS)],
    ['grams', massHtml(plate.massG, plan.unitsShown)],
    ['layers', recipe === undefined ? '' : String(layerCount(plate.heightMm, recipe))],
    ['may fail', plate.failChance === undefined ? '' : chanceText(plate.failChance)],
  ];
  return `<table class="facts">${rows
    .filter(([, value]) => value !== '')
    .map(([what, value]) => `<tr><th>${what}</th><td>${value}</td></tr>`)
    .join('')}</table>`;
}

/** `Sat 03:40 (02:50 to 05:30)`: the run's end with the interval of its hours. */
function endsText(plan: Plan, { durationS }: Plate, run: Run): string {
  const end = momentText(run.end, plan);
  if (durationS.low === undefined || durationS.high === undefined) return end;
  const at = (seconds: number): string =>
    momentText(new Date(Date.parse(run.end) + (seconds - durationS.value) * 1000).toISOString(), plan);
  return `${end} (${at(durationS.low)} to ${at(durationS.high)})`;
}

function chanceText(chance: number): string {
  const one = Math.max(1, Math.round(1 / Math.max(chance, 1e-3)));
  return one <= 1 ? 'most likely' : `about 1 in ${one}`;
}

/** A forecast typed in before the print catches a wrong recipe; the interval says how far off is too far. */
function compare(plan: Plan, plate: Plate, recipe: Recipe | undefined): string {
  const layers = recipe === undefined ? '' : String(layerCount(plate.heightMm, recipe));
  const row = (what: string, ours: string): string =>
    `<tr><th>${what}</th><td>${escapeXml(ours)}</td><td class="write"></td></tr>`;
  return `<table class="compare"><thead><tr><th></th><th>here</th><th>slicing program</th></tr></thead><tbody>${row('layers', layers)}${row('grams', massText(plate.massG, plan.unitsShown))}${row('time', durationText(plate.durationS))}</tbody></table><p class="note">Outside the interval, or another number of layers: look for the wrong setting before you start.</p>`;
}

function poses(names: PlanNames, plate: Plate, pictures: Pictures): string {
  const ids = [...new Set(plate.placed.map(({ copyId }) => pieceOfCopy(copyId)))];
  const figures = ids.map((id) => {
    const png = pictures[id];
    const piece = names.piece(id);
    const image =
      png === undefined
        ? ''
        : `<img src="data:image/png;base64,${Buffer.from(png.buffer, png.byteOffset, png.byteLength).toString('base64')}" alt="${escapeXml(`${names.pieceName(id)} as it lies, and from below`)}">`;
    const count = plate.placed.filter(({ copyId }) => pieceOfCopy(copyId) === id).length;
    const size = piece === undefined ? '' : `, ${num(piece.pose.heightMm)} mm high`;
    return `<figure>${image}<figcaption><b>${escapeXml(names.pieceName(id))}</b>${count > 1 ? ` ×${count}` : ''}<span>${escapeXml(size)}</span></figcaption></figure>`;
  });
  return `<div class="poses">${figures.join('')}</div>`;
}

function settings(names: PlanNames, plate: Plate, recipe: Recipe | undefined): string {
  if (recipe === undefined) return `<h2>Recipe</h2><p>${escapeXml(plate.recipeId)}</p>`;
  const material = names.material(plate.materialIds[0] ?? '');
  const rows: [string, string][] = [
    ['layer, first layer', `${recipe.layerMm} mm, ${recipe.firstLayerMm} mm`],
    ['bead width', `${recipe.beadWidthMm} mm`],
    ['perimeters', String(recipe.perimeters)],
    ['solid floors, roofs', `${recipe.floorLayers}, ${recipe.roofLayers} layers`],
    ['infill', `${num(recipe.infillShare * 100)} % ${recipe.infillPattern}`],
    [
      'support',
      recipe.support === 'none'
        ? 'none'
        : `beyond ${recipe.overhangFromVerticalDeg}° from vertical, ${num(recipe.supportShare * 100)} % filled`,
    ],
    ['brim', recipe.brimMm === 0 ? 'none' : `${recipe.brimMm} mm`],
    ['least time a layer', `${recipe.leastLayerS} s`],
    ...(material === undefined
      ? []
      : ([['nozzle, plate', `${material.nozzleC} °C, ${material.plateC} °C (the spool’s label wins)`]] as [
          string,
          string,
        ][])),
  ];
  return `<h2>Recipe ${escapeXml(recipe.id)}</h2><p>${escapeXml(capital(recipeSentence(recipe)))}.</p><table class="settings">${rows
    .map(([what, value]) => `<tr><th>${what}</th><td>${escapeXml(value)}</td></tr>`)
    .join('')}</table>`;
}

function todo(plan: Plan, names: PlanNames, plate: Plate, recipe: Recipe | undefined): string {
  const watch = watchPoints(names, plate);
  const put = putInRows(plan, names, plate, recipe);
  const after = finishingRows(names, plate);
  const block = (title: string, rows: readonly string[]): string =>
    rows.length === 0 ? '' : `<h2>${title}</h2>${listHtml(rows, 'ticks')}`;
  return (
    block('In the first minutes', watch) +
    block('Put in during the print', put) +
    block('Afterwards', after.length === 0 ? ['take the support off, note what it weighs'] : after)
  );
}

/** Copies are counted: six pads with a magnet each pause the print once. */
function putInRows(plan: Plan, names: PlanNames, plate: Plate, recipe: Recipe | undefined): string[] {
  const counts = new Map<string, { atMm: number; what: string; count: number }>();
  for (const { copyId } of plate.placed) {
    const piece = names.piece(pieceOfCopy(copyId));
    for (const { itemId, atMm } of names.part(piece?.partId ?? '')?.putIn ?? []) {
      const name = plan.hardware.find(({ item }) => item.id === itemId)?.item.name ?? itemId;
      const what = `${name} into ${names.pieceName(copyId)}`;
      const row = counts.get(`${atMm} ${what}`) ?? { atMm, what, count: 0 };
      counts.set(`${atMm} ${what}`, { ...row, count: row.count + 1 });
    }
  }
  return [...counts.values()]
    .sort((a, b) => a.atMm - b.atMm)
    .map(({ atMm, what, count }) => {
      const layer = recipe === undefined ? '' : `after layer ${layerCount(atMm, recipe)}, `;
      return `${layer}at ${num(atMm)} mm: ${count > 1 ? `${count} × ` : ''}${what}`;
    });
}

function finishingRows(names: PlanNames, plate: Plate): string[] {
  const partIds = new Set(
    plate.placed.flatMap(({ copyId }) => {
      const piece: Piece | undefined = names.piece(pieceOfCopy(copyId));
      return piece === undefined ? [] : [piece.partId];
    }),
  );
  return [...partIds].flatMap((id) =>
    (names.part(id)?.finishing ?? []).map(({ what, handsOnMin, waitMin }) => {
      const time = [
        ...(handsOnMin > 0 ? [`${num(handsOnMin)} min`] : []),
        ...(waitMin > 0 ? [`wait ${durationText({ value: waitMin * 60, from: '' })}`] : []),
      ];
      return `${names.partName(id)}: ${what}${time.length === 0 ? '' : ` (${time.join(', ')})`}`;
    }),
  );
}

function outcome(plan: Plan, names: PlanNames, plate: Plate): string {
  const rows = plate.placed.map(({ copyId }) => {
    const estimate = names.estimate(pieceOfCopy(copyId), plate.printerId);
    const grams = estimate === undefined ? '' : massText({ value: estimate.partG, from: '' }, plan.unitsShown);
    return `<tr><td>${escapeXml(names.pieceName(copyId))} <span class="soft">${escapeXml(copyId.slice(copyId.lastIndexOf('#')))}</span></td><td><i class="box"></i></td><td><i class="box"></i> <span class="write short"></span></td><td class="r">${escapeXml(grams)}</td><td class="write"></td></tr>`;
  });
  return `<table class="outcome"><thead><tr><th>copy</th><th>done</th><th>failed at layer</th><th class="r">should weigh</th><th>weighed, g</th></tr></thead><tbody>${rows.join('')}</tbody></table><p class="note">Start ________ End ________ Spool before ______ g, after ______ g. Write it down: <code>stonehand record done|failed …</code></p>`;
}

function cautionLine(plan: Plan): string {
  const [first] = cautionsOf(plan);
  return `${first ?? ''} Local codes, data sheets and licensed practice come first.`.trim();
}
