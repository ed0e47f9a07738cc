import type { Estimate, ForecastCheck, Recipe, Review, ReviewFactor, UnitsShown } from '@stonehand/model';
import { recipeSentence } from './plan-names.ts';
import { type TextOptions, textTable, wrapText } from './text-table.ts';
import { countOf, durationText, durationValue, listWords, massText, massValue } from './words.ts';

type Options = TextOptions & Readonly<{ units?: UnitsShown }>;

const GROUP_WORDS = { walls: 'walls', fill: 'infill and solid layers', support: 'support' } as const;

/** Held-out errors record by record, what is known of each material and printer, and what is not. */
export function renderReview(
  { rows, factors }: Review,
  { width = 80, colour = false, units = 'metric' }: Options = {},
): string {
  const out: string[] = [];
  if (rows.length === 0) {
    out.push(
      ...wrapText(
        'Nothing in the ledger can be compared yet: record a print with --grams, and with --printer and --minutes.',
        width,
      ),
    );
  } else {
    const figure = (quantity: 'mass' | 'time', value: number): string =>
      quantity === 'mass' ? massValue({ value, from: '' }, units) : durationValue({ value, from: '' });
    out.push(
      textTable(
        [
          { title: 'date' },
          { title: 'what', wraps: true },
          { title: 'of' },
          { title: 'said', right: true },
          { title: 'came', right: true },
          { title: 'off by', right: true },
          { title: '' },
        ],
        rows.map(({ at, what, copyIds, quantity, of, real, said, inside }) => [
          at.slice(0, 10),
          `${what === 'forecast' ? 'forecast of ' : ''}${copiesText(copyIds)}`,
          of,
          quantity === 'mass' ? massText(said, units) : durationText(said),
          figure(quantity, real),
          percent(real / said.value - 1),
          inside ? '' : 'outside',
        ]),
        { width, colour },
      ).trimEnd(),
      '',
      ...summaryLines(rows, width),
    );
  }
  out.push('', ...factorLines(factors, width, colour));
  return `${out.join('\n')}\n`;
}

/** "part#1", "part#1 to #4", or the first of several names and how many more. */
function copiesText(copyIds: readonly string[]): string {
  const names = [...new Set(copyIds.map((id) => id.slice(0, id.lastIndexOf('#'))))];
  if (names.length !== 1) return listWords(names, 2);
  const name = names[0]!.slice(names[0]!.lastIndexOf('/') + 1);
  return copyIds.length === 1 ? name : `${name} ×${copyIds.length}`;
}

function summaryLines(rows: Review['rows'], width: number): string[] {
  const inside = rows.filter((row) => row.inside).length;
  const errors = rows.map(({ real, said }) => Math.abs(real / said.value - 1)).sort((a, b) => a - b);
  const middle = errors[errors.length >> 1]!;
  return wrapText(
    `"said" is what the other records of the same material or printer lead to, with its 80 % interval. ${inside} of ${rows.length} came inside; the middle error is ${(100 * middle).toFixed(0)} %.`,
    width,
  );
}

function factorLines(factors: readonly ReviewFactor[], width: number, colour: boolean): string[] {
  const lines = [
    textTable(
      [
        { title: 'learnt of' },
        { title: 'from', right: true },
        { title: 'real over modelled', right: true },
        { title: 'still uncalibrated', wraps: true },
      ],
      factors.map(({ quantity, of, records, factor, lacks }) => [
        `${quantity === 'mass' ? 'grams' : 'minutes'}, ${of}`,
        records === 0 ? 'nothing' : countOf(records, 'record'),
        `${factor.value.toFixed(2)} (${factor.low.toFixed(2)} to ${factor.high.toFixed(2)})`,
        records === 0 ? 'everything: stated prior' : listWords(lacks.map((group) => GROUP_WORDS[group])),
      ]),
      { width, colour },
    ).trimEnd(),
  ];
  if (factors.some(({ lacks }) => lacks.length > 0)) {
    lines.push(
      '',
      ...wrapText('Three small prints tell walls, infill and support apart: stonehand trial --printer PRINTER', width),
    );
  }
  return lines;
}

function percent(share: number): string {
  const rounded = Math.round(100 * share);
  return rounded === 0 ? '0 %' : `${rounded > 0 ? '+' : '−'}${Math.abs(rounded)} %`;
}

/** Another program's forecast beside the estimate: agreement, or a clear alarm. */
export function renderForecast(
  checks: readonly ForecastCheck[],
  { width = 80, units = 'metric' }: Options = {},
): string {
  if (checks.length === 0)
    return `${wrapText('It cannot be compared: name the printer with --printer, and copies that go on it.', width).join('\n')}\n`;
  const lines = checks.map(({ quantity, said, estimated, inside }) => {
    const [theirs, ours] =
      quantity === 'mass'
        ? [massValue({ value: said, from: '' }, units), massText(estimated, units)]
        : [durationValue({ value: said, from: '' }), durationText(estimated)];
    if (inside) return `forecast ${theirs}: agrees with the estimate of ${ours}`;
    const way = said > estimated.value ? 'more' : 'less';
    return `ALARM: the forecast of ${theirs} is ${Math.round(100 * Math.abs(said / estimated.value - 1))} % ${way} than the estimate of ${ours}, outside its interval. Before printing compare recipe, scale, pose, support and copies in both programs.`;
  });
  return `${lines.flatMap((line) => wrapText(line, width)).join('\n')}\n`;
}

export type TrialText = Readonly<{ id: string; what: string; recipe: Recipe; estimate: Estimate }>;
type TrialOptions = Options & Readonly<{ folder: string; printerId: string; materialId: string; recipeId: string }>;

/** What the three trial prints should come to, by kind of bead, and how to record them. */
export function renderTrial(
  rows: readonly TrialText[],
  { width = 80, colour = false, units = 'metric', folder, printerId, materialId, recipeId }: TrialOptions,
): string {
  const total = rows.reduce((sum, { estimate }) => sum + estimate.durationS.value, 0);
  const cell = (e: Estimate, kinds: readonly string[]): string => {
    const mine = e.byKind.filter(({ kind }) => kinds.includes(kind));
    const g = mine.reduce((sum, { massG }) => sum + massG, 0);
    const s = mine.reduce((sum, { durationS }) => sum + durationS, 0);
    return g === 0 ? '' : `${massValue({ value: g, from: '' }, units)}, ${durationValue({ value: s, from: '' })}`;
  };
  const out = [
    ...wrapText(
      `Three small prints for ${printerId} in ${materialId}, ${durationValue({ value: total, from: '' })} together, written to ${folder}. Print each by itself, as it stands, by the same recipe; weigh it with its support.`,
      width,
    ),
    '',
    textTable(
      [
        { title: 'print', wraps: true },
        { title: 'grams', right: true },
        { title: 'time', right: true },
        { title: 'walls', right: true },
        { title: 'infill, solids', right: true },
        { title: 'support', right: true },
      ],
      rows.map(({ id, what, estimate: e }) => [
        `${id}: ${what}`,
        massValue(e.massG, units),
        durationValue(e.durationS),
        cell(e, ['outerPerimeter', 'innerPerimeter']),
        cell(e, ['solid', 'bridge', 'infill']),
        cell(e, ['support', 'contact', 'brim']),
      ]),
      { width, colour },
    ).trimEnd(),
    '',
  ];
  for (const { id, recipe } of rows) out.push(...wrapText(`${id}: ${recipeSentence(recipe)}`, width));
  out.push(
    '',
    ...wrapText('Then write down what came of each, such as:', width),
    `  stonehand record done ${rows[0]?.id ?? ''} --printer ${printerId} --material ${materialId} \\`,
    `    --recipe ${recipeId} --grams 14.2 --minutes 48`,
  );
  return `${out.join('\n')}\n`;
}
