import type { Plan } from '@stonehand/model';
import { cautionsOf } from './cautions.ts';
import { fitRows, verdictText } from './fit-rows.ts';
import { allowedText, flatten, limitChance, limitLines, marginText } from './limit-lines.ts';
import { movedLines } from './outlook.ts';
import { meshesToLookAt } from './part-findings.ts';
import { countedNames, layerCount, planNames, recipeSentence, waitingByReason } from './plan-names.ts';
import { type Sentence, summaryOf } from './summary.ts';
import { rowText, todoRows } from './todo-rows.ts';
import { countOf, dayText, durationText, listWords, massText, momentText, placeText, sizeText } from './words.ts';

/** The plan as Markdown, for a repository or a message: the page's words and tables without its pictures. */
export function renderMarkdown(plan: Plan): string {
  const names = planNames(plan);
  const summary = summaryOf(plan);
  const out: string[] = [`# ${md(summary.title)}`, ''];
  const lead: Sentence[] = [
    summary.inTime,
    ...summary.outlook,
    summary.next,
    summary.buy,
    summary.unfit,
    ...summary.mass,
    summary.waits,
  ].filter((s) => s.length > 0);
  out.push(
    ...lead.map(
      (sentence) =>
        `- ${sentence.map((span) => (span.strong === true ? `**${md(span.text)}**` : md(span.text))).join('')}`,
    ),
    '',
  );

  const moved = movedLines(plan);
  if (moved.length > 0) out.push('## Moved', '', ...moved.map((line) => `- ${md(line)}`), '');
  out.push('## What to do', '');
  let day = '';
  for (const row of todoRows(plan, names)) {
    const title = dayText(row.from, plan);
    if (title !== day) out.push(...(day === '' ? [] : ['']), `### ${title}`, '');
    day = title;
    const where = row.printer === '' ? '' : `, ${md(row.printer)}`;
    out.push(`- [ ] ${momentText(row.from, plan)}${where}: ${md(rowText(row))}`);
  }
  if (plan.todo.length === 0) out.push('Nothing.');

  out.push(
    '',
    '## Plates',
    '',
    ...table(
      ['plate', 'printer', 'copies', 'settings', 'filament', 'printing', 'layers'],
      plan.plates.map((plate) => {
        const recipe = names.recipe(plate.recipeId);
        return [
          plate.name,
          names.printerName(plate.printerId),
          listWords(countedNames(plate.placed.map((p) => names.pieceName(p.copyId)))),
          `${recipe === undefined ? plate.recipeId : recipeSentence(recipe)}; ${listWords(plate.materialIds.map(names.materialName))}`,
          massText(plate.massG, plan.unitsShown),
          durationText(plate.durationS),
          recipe === undefined ? '' : String(layerCount(plate.heightMm, recipe)),
        ];
      }),
    ),
  );

  out.push(
    '',
    '## What fits where',
    '',
    ...table(
      ['part', 'size, mm', ...plan.printers.map((p) => names.printerName(p.id)), 'why'],
      fitRows(plan).map((row) => [
        row.name,
        row.sizeMm === undefined ? '' : sizeText(row.sizeMm, plan.unitsShown),
        ...plan.printers.map((p) => {
          const fit = row.verdicts.find((v) => v.printerId === p.id);
          return fit === undefined ? '' : verdictText(fit);
        }),
        row.why,
      ]),
    ),
  );

  out.push(
    '',
    '## Filament',
    '',
    ...table(
      ['material', 'this window', 'all that remains', 'shelf', 'buy now', 'buy for all'],
      plan.materials.flatMap((material) => {
        const now = plan.buy.find((b) => b.materialId === material.id);
        const all = plan.buyAll.find((b) => b.materialId === material.id);
        if (now === undefined && all === undefined) return [];
        const need = (b: typeof now): string => (b === undefined ? 'none' : massText(b.needG, plan.unitsShown));
        const spools = (b: typeof now): string => (b === undefined || b.spools === 0 ? '' : countOf(b.spools, 'spool'));
        return [
          [
            names.materialName(material.id),
            need(now),
            need(all),
            massText({ value: (now ?? all)!.shelfG, from: '' }, plan.unitsShown),
            spools(now),
            spools(all),
          ],
        ];
      }),
    ),
  );

  out.push(
    '',
    '## Mass and balance',
    '',
    ...table(
      ['assembly', 'mass', 'printed', 'bought', 'centre x, y, z', 'limits'],
      flatten(plan.mass).map((m) => [
        m.name,
        massText(m.massG, plan.unitsShown),
        massText({ value: m.printedG, from: '' }, plan.unitsShown),
        massText({ value: m.boughtG, from: '' }, plan.unitsShown),
        placeText(m.centreMm, plan.unitsShown),
        limitLines(m)
          .map((line) => {
            const said = [allowedText(line, plan.unitsShown), marginText(line, plan.unitsShown), limitChance(line)];
            return `${line.what} ${said.filter((text) => text !== '').join(', ')}`;
          })
          .join('; '),
      ]),
    ),
  );

  const meshes = meshesToLookAt(plan);
  if (meshes.length > 0)
    out.push(
      '',
      '## Meshes to look at',
      '',
      ...meshes.flatMap(({ names: of, findings }) =>
        findings.map(
          ({ says, remedy }) => `- ${md(listWords(of))}: ${md(says)}${remedy === undefined ? '' : ` ${md(remedy)}`}`,
        ),
      ),
    );

  const waiting = waitingByReason(plan, names);
  if (waiting.length > 0)
    out.push('', '## What waits', '', ...waiting.map((row) => `- ${md(listWords(row.names))}: ${md(row.reason)}`));
  out.push('', '## Cautions', '', ...cautionsOf(plan).map((c) => `- ${md(c)}`));
  if (plan.assumed.length > 0) out.push('', '## Assumed', '', ...plan.assumed.map((a) => `- ${md(a)}`));
  out.push(
    '',
    `Plan from ${momentText(plan.planFrom, plan)}, seed ${plan.seed}, inputs ${plan.inputsHash}, made by ${md(plan.madeBy)}.`,
    '',
  );
  return out.join('\n');
}

function table(columns: readonly string[], rows: readonly (readonly string[])[]): string[] {
  if (rows.length === 0) return ['None.'];
  const line = (cells: readonly string[]): string => `| ${cells.map((c) => md(c).replace(/\|/g, '\\|')).join(' | ')} |`;
  return [line(columns), `|${columns.map(() => '---').join('|')}|`, ...rows.map(line)];
}

/** Names may hold markup of either kind; both are made harmless. */
function md(text: string): string {
  return text
    .replace(/[\r\n]+/g, ' ')
    .replace(/[\\`*_[\]]/g, (c) => `\\${c}`)
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;');
}
