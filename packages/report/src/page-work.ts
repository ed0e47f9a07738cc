import type { Plan } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import { durationHtml, listHtml, massHtml } from './html.ts';
import { countedNames, layerCount, type PlanNames, recipeSentence, waitingByReason } from './plan-names.ts';
import { plateSvg, swatch } from './plate-svg.ts';
import { num, textEms } from './svg.ts';
import { timelineSvg } from './timeline-svg.ts';
import { drawText, type TodoRow, todoRows } from './todo-rows.ts';
import { capital, countOf, dayText, hourText, listWords, momentText } from './words.ts';

/** What a person does, by day, with boxes to tick on paper. */
export function doSection(plan: Plan, names: PlanNames): string {
  const days: { title: string; items: string[] }[] = [];
  const rows = todoRows(plan, names);
  const whereEms = Math.max(0, ...rows.map((row) => textEms(row.printer))) * 1.3;
  for (const row of rows) {
    const title = capital(dayText(row.from, plan));
    if (days.at(-1)?.title !== title) days.push({ title, items: [] });
    days.at(-1)!.items.push(todoItem(plan, row));
  }
  const list =
    days.length === 0
      ? '<p class="soft">Nothing to do in this window.</p>'
      : days
          .map(
            (day) =>
              `<h3>${escapeXml(day.title)}</h3><ol class="todo" style="--where:${num(whereEms)}em">${day.items.join('\n')}</ol>`,
          )
          .join('\n');
  const waiting = waitingByReason(plan, names);
  const waits =
    waiting.length === 0
      ? ''
      : `<h3 id="waits">What waits, and why</h3>${listHtml(waiting.map((row) => `${capital(listWords(row.names))}: ${row.reason}`))}`;
  return list + waits;
}

function todoItem(plan: Plan, row: TodoRow): string {
  const more = row.more.length === 0 ? '' : ` <span class="more">${escapeXml(row.more.join(' · '))}</span>`;
  return `<li><span class="box"></span><time datetime="${escapeXml(row.from)}">${hourText(row.from, plan)}</time><span class="where">${escapeXml(row.printer)}</span><span>${escapeXml(capital(row.says))}${more}</span></li>`;
}

/** Contact sheet: every plate at the same scale, with what to type in and what to compare with. */
export function platesSection(plan: Plan, names: PlanNames): string {
  if (plan.plates.length === 0) return '<p class="soft">No plate was made up.</p>';
  const figures = plan.plates.map((plate) => {
    const printer = names.printer(plate.printerId);
    if (printer === undefined) return '';
    const recipe = names.recipe(plate.recipeId);
    const drawing = plateSvg({
      plate,
      printer,
      piece: names.piece,
      name: names.pieceName,
      recipe,
      materialIndex: names.materialIndex,
    });
    const run = names.runOfPlate(plate.id);
    const materials = plate.materialIds
      .map((id) => `${swatch(names.materialIndex(id))}${escapeXml(names.materialName(id))}`)
      .join(', ');
    const key =
      drawing.key.length === 0
        ? ''
        : `<br>${drawing.key.map((k) => `<b class="small">${k.number}</b> ${escapeXml(k.name)}`).join(', ')}`;
    const layers = recipe === undefined ? '' : `, ${countOf(layerCount(plate.heightMm, recipe), 'layer')}`;
    return `<figure id="plate-${escapeXml(plate.id)}" style="--w:${num(drawing.widthMm)}">${drawing.svg}<figcaption><b>${escapeXml(plate.name)}</b>, ${escapeXml(names.printerName(plate.printerId))}<span class="soft">${run === undefined ? '; waits' : `; starts ${escapeXml(momentText(run.start, plan))}`}</span><br>${materials}${run === undefined || run.spools.length === 0 ? '' : `<span class="soft">, ${escapeXml(drawText(plan, run))}</span>`}<br><span class="soft">${escapeXml(recipe === undefined ? plate.recipeId : recipeSentence(recipe))}.</span><br>${massHtml(plate.massG, plan.unitsShown)}, ${durationHtml(plate.durationS)}${layers}<span class="soft">, ${num(plate.usedShare * 100, 0)} % of the plate${key}</span></figcaption></figure>`;
  });
  const used = countedNames(plan.plates.map((plate) => names.printerName(plate.printerId)));
  return `<p class="soft">${escapeXml(`${countOf(plan.plates.length, 'plate')} (${listWords(used)}), seen from above, front edge below, all to one scale; rulers in mm.`)} <span class="printscale">On paper 1 : 4.</span> Dashed: where pieces and brims may lie. Set the slicing program as the caption says and compare its layers, grams and hours with these.</p><div class="sheet">${figures.join('\n')}</div>`;
}

export function timelineSection(plan: Plan): string {
  if (plan.runs.length === 0) return '<p class="soft">No run is planned.</p>';
  return `<div class="scroll wide" tabindex="0" role="region" aria-label="Timeline, scrolls sideways">${timelineSvg(plan)}</div><div class="narrow">${timelineSvg(plan, { upright: true })}</div>`;
}
