import type { Plan, Run, Todo } from '@stonehand/model';
import { escapeXml } from './escape.ts';
import { durationHtml, listHtml, massHtml } from './html.ts';
import { countedNames, layerCount, type PlanNames, recipeSentence, waitingByReason } from './plan-names.ts';
import { plateSvg, swatch } from './plate-svg.ts';
import { num } from './svg.ts';
import { timelineSvg } from './timeline-svg.ts';
import { capital, countOf, dayText, hourText, listWords, massText, momentText } from './words.ts';

/** What a person does, by day, with boxes to tick on paper. */
export function doSection(plan: Plan, names: PlanNames): string {
  const days: { title: string; items: string[] }[] = [];
  for (const todo of plan.todo) {
    const title = capital(dayText(todo.from, plan));
    if (days.at(-1)?.title !== title) days.push({ title, items: [] });
    days.at(-1)!.items.push(todoItem(plan, names, todo));
  }
  const list =
    days.length === 0
      ? '<p class="soft">Nothing to do in this window.</p>'
      : days.map((day) => `<h3>${escapeXml(day.title)}</h3><ol class="todo">${day.items.join('\n')}</ol>`).join('\n');
  const waiting = waitingByReason(plan, names);
  const waits =
    waiting.length === 0
      ? ''
      : `<h3 id="waits">What waits, and why</h3>${listHtml(waiting.map((row) => `${capital(listWords(row.names))}: ${row.reason}`))}`;
  return list + waits;
}

function todoItem(plan: Plan, names: PlanNames, todo: Todo): string {
  const run = names.run(todo.runId);
  const more: string[] = [];
  if (todo.what === 'start' && run !== undefined) {
    // The scheduler's own words may hold these already.
    if (!todo.says.includes('watch until')) more.push(`watch until ${hourText(run.watchedUntil, plan)}`);
    if (!todo.says.includes('ends about')) more.push(`ends about ${endText(plan, names, todo)}`);
    const spools = run.spools.map((s) => `spool ${s.spoolId}: ${spoolText(plan, s.spoolId, s.massG)}`);
    more.push(...spools);
    if (run.unattended) more.push(aloneWords(run));
  }
  if (todo.latestStart !== undefined) more.push(`at the latest ${momentText(todo.latestStart, plan)}`);
  const detail = more.length === 0 ? '' : `<span class="more">${escapeXml(more.join(' · '))}</span>`;
  return `<li><span class="box"></span><time datetime="${escapeXml(todo.from)}">${hourText(todo.from, plan)}</time><span class="where">${escapeXml(names.printerName(todo.printerId))}</span><span>${escapeXml(capital(todo.says))}</span>${detail}</li>`;
}

/** `Sat 03:40 (02:50 to 05:30)`: the run's end with the interval of its duration. */
function endText(plan: Plan, names: PlanNames, todo: Todo): string {
  const run = names.run(todo.runId)!;
  const duration = names.plate(run.plateId)?.durationS;
  const at = (s: number): string => hourText(new Date(Date.parse(run.start) + s * 1000).toISOString(), plan);
  const span =
    duration?.low === undefined || duration.high === undefined ? '' : ` (${at(duration.low)} to ${at(duration.high)})`;
  return `${momentText(run.end, plan)}${span}`;
}

function aloneWords(run: Run): string {
  return run.alone === undefined || run.alone.length === 0
    ? 'goes on unattended'
    : `goes on unattended (${run.alone.map((kind) => (kind === 'asleep' ? 'asleep at home' : kind)).join(', ')})`;
}

function spoolText(plan: Plan, spoolId: string, needG: number): string {
  const spool = plan.spools.find((s) => s.id === spoolId);
  const need = massText({ value: needG, from: '' }, plan.unitsShown);
  return spool === undefined
    ? `needs ${need}`
    : `${massText({ value: spool.netG, from: '' }, plan.unitsShown)} on it, needs ${need}`;
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
    return `<figure id="plate-${escapeXml(plate.id)}" style="--w:${num(drawing.widthMm)}">${drawing.svg}<figcaption><b>${escapeXml(plate.name)}</b> <span class="soft">on ${escapeXml(names.printerName(plate.printerId))}</span><br>${materials}${run === undefined ? '' : ` <span class="soft">${escapeXml(momentText(run.start, plan))}</span>`}<br><span class="soft">${escapeXml(recipe === undefined ? plate.recipeId : recipeSentence(recipe))}.</span><br>${massHtml(plate.massG, plan.unitsShown)}, ${durationHtml(plate.durationS)}${layers}<span class="soft">, ${num(plate.usedShare * 100, 0)} % of the plate${key}</span></figcaption></figure>`;
  });
  const used = countedNames(plan.plates.map((plate) => names.printerName(plate.printerId)));
  return `<p class="soft">${escapeXml(`${countOf(plan.plates.length, 'plate')} (${listWords(used)}), seen from above, front edge below, all to one scale; rulers in mm.`)} <span class="printscale">On paper 1 : 4.</span> Dashed: where pieces and brims may lie. Set the slicing program as the caption says and compare its layers, grams and hours with these.</p><div class="sheet">${figures.join('\n')}</div>`;
}

export function timelineSection(plan: Plan): string {
  if (plan.runs.length === 0) return '<p class="soft">No run is planned.</p>';
  return `<div class="scroll wide" tabindex="0" role="region" aria-label="Timeline, scrolls sideways">${timelineSvg(plan)}</div><div class="narrow">${timelineSvg(plan, { upright: true })}</div>`;
}
