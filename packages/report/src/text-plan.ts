import type { Plan } from '@stonehand/model';
import { cautionsOf } from './cautions.ts';
import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import { movedLines, type WhatIfRow, whatIfRows } from './outlook.ts';
import { meshesToLookAt } from './part-findings.ts';
import { countedNames, layerCount, planNames, recipeSentence, waitingByReason } from './plan-names.ts';
import { savingLine } from './saving-line.ts';
import { type Sentence, sentenceText, summaryOf } from './summary.ts';
import { renderFindings } from './text-findings.ts';
import { bold, type TextOptions, textTable, textWidth, wrapText } from './text-table.ts';
import { rowText, todoRows } from './todo-rows.ts';
import { capital, dayText, durationText, hourText, listWords, massText } from './words.ts';

/**
 * The plan for a terminal: said in words, what to do by day, the plates with what to type in, what waits and why, cautions.
 * Lines never exceed width; colour is only weight, so nothing is lost without it.
 */
export function renderSummary(plan: Plan, { width = 80, colour = false }: TextOptions = {}): string {
  const summary = summaryOf(plan);
  const strong = (text: string): string => (colour ? bold(text) : text);
  const out: string[] = [];
  for (const assumed of plan.assumed) out.push(...wrapText(plainLine(`assumed: ${assumed}`), width));
  if (plan.assumed.length > 0) out.push('');
  out.push(strong(plainLine(summary.title)));
  const lead: Sentence[] = [
    summary.inTime,
    ...summary.outlook,
    summary.buy,
    summary.unfit,
    ...summary.mass,
    summary.waits,
  ].filter((s) => s.length > 0);
  for (const sentence of lead) out.push(...wrapText(plainLine(sentenceText(sentence)), width));
  const moved = movedLines(plan);
  if (moved.length > 0) out.push('', strong('Moved'), ...moved.flatMap((line) => hanging('  ', line, width)));
  out.push('', ...todoLines(plan, width, colour));
  out.push('', strong('Plates'), platesText(plan, width, colour).trimEnd());
  const whatIf = whatIfRows(plan);
  if (whatIf.length > 0) out.push('', strong('What if'), whatIfText(whatIf, plan, width, colour).trimEnd());
  const saving = savingLine(plan);
  if (saving !== '') out.push('', ...hanging('  ', saving, width));
  const meshes = meshesToLookAt(plan);
  if (meshes.length > 0) out.push('', strong('Meshes to look at'), renderFindings(meshes, { width }));
  const waiting = waitingByReason(plan, planNames(plan));
  if (waiting.length > 0) {
    out.push('', strong('Waits'));
    for (const row of waiting) out.push(...hanging('  ', `${capital(listWords(row.names))}: ${row.reason}`, width));
  }
  out.push('', strong('Cautions'));
  for (const caution of cautionsOf(plan)) out.push(...hanging('- ', caution, width));
  return `${out.join('\n')}\n`;
}

function todoLines(plan: Plan, width: number, colour: boolean): string[] {
  const rows = todoRows(plan, planNames(plan));
  const most = Math.max(0, ...rows.map((row) => textWidth(plainLine(row.printer))));
  const out: string[] = [];
  let day = '';
  for (const row of rows) {
    const title = dayText(row.from, plan);
    if (title !== day) out.push(...(day === '' ? [] : ['']), colour ? bold(title) : title);
    day = title;
    const printer = plainLine(row.printer);
    // Long names of printers would leave no room for what to do there.
    const column = most <= 14 ? `${printer}${' '.repeat(most - textWidth(printer))}  ` : '';
    const says = column === '' && printer !== '' ? `${row.printer}: ${rowText(row)}` : rowText(row);
    out.push(...hanging(`  ${hourText(row.from, plan)}  ${column}`, says, width));
  }
  if (rows.length === 0) out.push('Nothing to do in this window.');
  return out;
}

function platesText(plan: Plan, width: number, colour: boolean): string {
  const names = planNames(plan);
  const rows = plan.plates.map((plate) => {
    const recipe = names.recipe(plate.recipeId);
    const settings = recipe === undefined ? plate.recipeId : recipeSentence(recipe);
    return [
      plate.name,
      names.printerName(plate.printerId),
      massText(plate.massG, plan.unitsShown),
      durationText(plate.durationS),
      recipe === undefined ? '' : String(layerCount(plate.heightMm, recipe)),
      `${listWords(plate.materialIds.map(names.materialName))}, ${settings}`,
    ];
  });
  if (rows.length === 0) return 'none\n';
  const columns = [
    { title: 'plate', wraps: true },
    { title: 'printer' },
    { title: 'filament', right: true },
    { title: 'printing', right: true },
    { title: 'layers', right: true },
    { title: 'settings', wraps: true },
  ];
  // The settings are a sentence: in a narrow window they are worth more as a line of their own below.
  if (width >= 160) return textTable(columns, rows, { width, colour });
  const short = textTable(
    columns.slice(0, 5),
    rows.map((row) => row.slice(0, 5)),
    { width, colour },
  );
  const settings = [...new Set(rows.map((row) => row[5]!))].flatMap((said) => {
    const plates = countedNames(rows.filter((row) => row[5] === said).map((row) => row[0]!));
    return hanging('  ', `${listWords(plates)}: ${said}`, width);
  });
  return `${short}\n${settings.join('\n')}\n`;
}

function whatIfText(rows: readonly WhatIfRow[], plan: Plan, width: number, colour: boolean): string {
  const deadline = rows.some((row) => row.deadline !== '');
  return textTable(
    [
      { title: 'change', wraps: true },
      ...(plan.planTo === undefined ? [] : [{ title: 'this window' }]),
      { title: 'all printed' },
      { title: '80 % by' },
      ...(deadline ? [{ title: 'in time' }] : []),
    ],
    rows.map((row) => [
      row.what,
      ...(plan.planTo === undefined ? [] : [row.window]),
      row.finish,
      row.sure,
      ...(deadline ? [row.deadline] : []),
    ]),
    { width, colour },
  );
}
