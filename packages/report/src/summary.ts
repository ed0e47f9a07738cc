import type { Figure, MassReport, Plan } from '@stonehand/model';
import {
  allowedText,
  flatten,
  isDoubtful,
  type LimitLine,
  limitChance,
  limitLines,
  limitValue,
  marginText,
  missingWords,
  statedValue,
} from './limit-lines.ts';
import { followsSentence, helpSentence, remainingSentences, windowSentence } from './outlook.ts';
import { countedNames, type PlanNames, planNames, waitingByReason } from './plan-names.ts';
import { type TodoRow, todoRows } from './todo-rows.ts';
import {
  capital,
  chanceWords,
  countOf,
  durationValue,
  listWords,
  massRange,
  massText,
  massValue,
  momentText,
} from './words.ts';

/** A stretch of a sentence: plain, strong, or a figure with the source it came from. */
export type Span = Readonly<{ text: string; strong?: boolean; from?: string }>;
export type Sentence = readonly Span[];

/** The plan said in words, in the order of what people ask first. Page, Markdown and terminal show the same sentences. */
export type Summary = Readonly<{
  title: string;
  inTime: Sentence;
  /** what was kept of the plan before, how sure the window is, when all of it is done, what would help; empty ones are left out */
  outlook: readonly Sentence[];
  next: Sentence;
  buy: Sentence;
  unfit: Sentence;
  mass: readonly Sentence[];
  waits: Sentence;
  /** the four figures at the top */
  cells: readonly Readonly<{ what: string; figure: Span; detail: string }>[];
}>;

export function summaryOf(plan: Plan): Summary {
  const names = planNames(plan);
  return {
    title: plan.name,
    inTime: inTimeSentence(plan),
    outlook: [
      followsSentence(plan),
      windowSentence(plan, names),
      ...remainingSentences(plan),
      helpSentence(plan),
    ].filter((sentence) => sentence.length > 0),
    next: nextSentence(plan, names),
    buy: buySentence(plan, names),
    unfit: unfitSentence(plan, names),
    mass: massSentences(plan),
    waits: waitsSentence(plan, names),
    cells: cellsOf(plan, names),
  };
}

export function sentenceText(sentence: Sentence): string {
  return sentence.map((span) => span.text).join('');
}

function inTimeSentence(plan: Plan): Sentence {
  if (plan.runs.length === 0) return [{ text: 'No run is planned', strong: true }, { text: '.' }];
  const runs = capital(numberWord(plan.runs.length));
  const spans: Span[] = [{ text: `${runs} ${plan.runs.length === 1 ? 'run' : 'runs'}` }];
  const end = plan.finish?.expected ?? lastEnd(plan);
  spans.push({ text: ', done ' }, { text: momentText(end, plan), strong: true });
  // With an outlook the deadline is that of the whole build, and the next sentences say so.
  if (plan.outlook !== undefined) {
    spans.push({ text: plan.deadline === undefined ? '. No deadline was given.' : '.' });
  } else if (plan.deadline !== undefined && plan.onTimeChance !== undefined) {
    const chance = plan.onTimeChance;
    const verdict = chance >= 0.9 ? 'in time' : chance >= 0.5 ? 'probably in time' : 'probably not in time';
    spans.push({ text: '; ' }, { text: verdict, strong: true });
    spans.push({ text: ` for ${momentText(plan.deadline, plan)}: ` });
    spans.push({
      text: chanceWords(chance),
      strong: true,
      from: 'simulated run times and failures of the planned runs',
    });
    spans.push({ text: '.' });
  } else if (plan.deadline !== undefined) {
    const late = Date.parse(end) > Date.parse(plan.deadline);
    spans.push({ text: '; ' }, { text: late ? 'not in time' : 'in time', strong: true });
    spans.push({ text: ` for ${momentText(plan.deadline, plan)}, if everything goes as estimated.` });
  } else spans.push({ text: '. No deadline was given.' });
  return spans;
}

function nextSentence(plan: Plan, names: PlanNames): Sentence {
  const rows = todoRows(plan, names);
  const next = rows[0];
  if (next === undefined) return [{ text: 'There is nothing for a person to do.' }];
  const on = (row: TodoRow): string =>
    row.printer === '' || row.says.includes(row.printer) ? '' : ` (${row.printer})`;
  // Of a start's details only the latest moment is news before the list itself.
  const detail = next.what === 'dry' ? next.more.at(-1) : next.more.find((text) => text.startsWith('latest '));
  const spans: Span[] = [
    { text: 'Next: ' },
    { text: momentText(next.from, plan), strong: true },
    { text: `, ${next.says}${on(next)}${detail === undefined ? '' : `, ${detail}`}` },
  ];
  const start = next.what === 'start' ? undefined : rows.find((row) => row.what === 'start');
  if (start !== undefined)
    spans.push(
      { text: '; ' },
      { text: momentText(start.from, plan), strong: true },
      { text: `, ${start.says}${on(start)}` },
    );
  spans.push({ text: '.' });
  return spans;
}

function buySentence(plan: Plan, names: PlanNames): Sentence {
  const spoolsOf = (rows: Plan['buy']): string[] =>
    rows
      .filter((row) => row.spools > 0)
      .map((row) => `${countOf(row.spools, 'spool')} of ${names.materialName(row.materialId)}`);
  const now = spoolsOf(plan.buy);
  const later = spoolsOf(plan.buyAll);
  // With an outlook, what is to buy for the window is for what waits: the planned runs have their spools.
  if (now.length > 0 && plan.outlook !== undefined && plan.spools.length > 0) {
    return [
      { text: 'No filament need be bought', strong: true },
      {
        text: ` for these runs; with ${listWords(now)} more would fit into this window${later.length === 0 ? '' : `, and all that remains wants ${listWords(later)}`}.`,
      },
    ];
  }
  if (now.length > 0) {
    return [{ text: 'To buy for this plan: ' }, { text: listWords(now), strong: true }, { text: '.' }];
  }
  const spans: Span[] = [{ text: 'No filament need be bought', strong: true }, { text: ' for it' }];
  if (later.length > 0) spans.push({ text: `; for all that remains, ${listWords(later)}` });
  spans.push({ text: '.' });
  return spans;
}

/** Parts that fit no printer whole, and parts that fit none at all. */
function unfitSentence(plan: Plan, names: PlanNames): Sentence {
  const best = bestVerdicts(plan);
  const none = [...best].filter(([, verdict]) => verdict === 'no').map(([id]) => names.partName(id));
  const split = [...best].filter(([, verdict]) => verdict === 'split').map(([id]) => names.partName(id));
  if (best.size === 0) return [];
  if (none.length === 0 && split.length === 0) return [{ text: 'Every part fits a printer whole.' }];
  const spans: Span[] = [];
  if (none.length > 0) {
    spans.push({ text: capital(listWords(none, 4)), strong: true });
    spans.push({ text: ` ${none.length === 1 ? 'fits' : 'fit'} no printer, even in pieces. ` });
  }
  if (split.length > 0) {
    spans.push({ text: capital(listWords(split, 4)), strong: true });
    spans.push({ text: ` ${split.length === 1 ? 'fits' : 'fit'} no printer whole and must be printed in pieces.` });
  }
  return spans;
}

const VERDICT_ORDER = ['asIs', 'turned', 'tipped', 'split', 'no'] as const;

/** The easiest verdict of each part over the printers that do not refuse it, parts in the plan's order. */
function bestVerdicts(plan: Plan): Map<string, (typeof VERDICT_ORDER)[number]> {
  const best = new Map<string, (typeof VERDICT_ORDER)[number]>();
  for (const fit of plan.fits) {
    if (fit.refused !== undefined) continue;
    const known = best.get(fit.partId);
    if (known === undefined || VERDICT_ORDER.indexOf(fit.verdict) < VERDICT_ORDER.indexOf(known)) {
      best.set(fit.partId, fit.verdict);
    }
  }
  return best;
}

/** One sentence for each assembly with a broken or doubtful limit, one for all others, one for what is not in the centres. */
function massSentences(plan: Plan): Sentence[] {
  const units = plan.unitsShown;
  const sentences: Sentence[] = [];
  let kept = 0;
  for (const report of flatten(plan.mass)) {
    const lines = limitLines(report);
    const doubtful = lines.filter(isDoubtful);
    kept += lines.length - doubtful.length;
    if (doubtful.length === 0) continue;
    const spans: Span[] = [{ text: `${capital(report.name)}: ` }];
    doubtful.forEach((line, i) => {
      if (i > 0) spans.push({ text: '; ' });
      if (line.what !== 'mass') spans.push({ text: `${line.what} ` });
      spans.push({ text: limitValue(line, units), strong: true, from: line.value.from });
      spans.push({
        text:
          line.unit === 'g' && line.least === undefined
            ? ` of ${statedValue(line.most ?? 0, line.unit, units)} allowed`
            : `, ${allowedText(line, units)}`,
      });
      if (line.margin < 0) spans.push({ text: ', ' }, { text: marginText(line, units), strong: true });
      const chance = limitChance(line);
      if (chance !== '') spans.push({ text: `, ${chance}` });
    });
    spans.push({ text: '.' });
    sentences.push(spans);
  }
  const last = sentences.at(-1);
  if (kept > 0 && last !== undefined) sentences[sentences.length - 1] = [...last, { text: ' All other limits hold.' }];
  else if (kept > 0) sentences.push([{ text: 'All limits on mass and balance hold.' }]);
  // A report names what its children lack as well, in the same words.
  const missing = missingWords([...new Set(flatten(plan.mass).flatMap((report) => report.missing))]);
  if (missing !== '') sentences.push([{ text: `${capital(missing)}.` }]);
  return sentences;
}

function waitsSentence(plan: Plan, names: PlanNames): Sentence {
  if (plan.waiting.length === 0) return [{ text: 'Nothing waits.' }];
  const rows = waitingByReason(plan, names);
  const spans: Span[] = [{ text: 'Waits:', strong: true }];
  rows.slice(0, 3).forEach((row, i) => {
    spans.push({ text: `${i === 0 ? ' ' : '; '}${listWords(row.names, 3)} (${row.reason})` });
  });
  const rest = rows.slice(3).reduce((sum, row) => sum + row.copies, 0);
  spans.push({ text: rest > 0 ? `; and ${countOf(rest, 'other piece')}.` : '.' });
  return spans;
}

function cellsOf(plan: Plan, names: PlanNames): Summary['cells'] {
  const cells: { what: string; figure: Span; detail: string }[] = [];
  const next = todoRows(plan, names)[0];
  if (next !== undefined)
    cells.push({
      what: 'next',
      figure: { text: momentText(next.from, plan) },
      detail: next.printer === '' ? next.says : `${next.says} (${next.printer})`,
    });
  if (plan.runs.length > 0) {
    const at = [
      plan.finish?.at80 === undefined ? '' : `80 % by ${momentText(plan.finish.at80, plan)}`,
      plan.finish?.at95 === undefined ? '' : `95 % by ${momentText(plan.finish.at95, plan)}`,
    ].filter((text) => text !== '');
    const chance = plan.onTimeChance;
    cells.push({
      what: chance === undefined ? 'done' : 'in time',
      figure: {
        text:
          chance === undefined
            ? momentText(plan.finish?.expected ?? lastEnd(plan), plan)
            : chanceWords(chance).replace('about ', ''),
        from: 'simulated run times and failures of the planned runs',
      },
      detail: at.join(', ') || `${countOf(plan.runs.length, 'run')}`,
    });
  }
  // What waits needs filament too, but not in this window.
  const planned = plan.plates.filter((plate) => names.runOfPlate(plate.id) !== undefined);
  const plates = planned.length > 0 ? planned : plan.plates;
  if (plates.length > 0) {
    const mass = sumFigure(plates.map((plate) => plate.massG));
    const shelf = plan.buy.reduce((sum, row) => sum + row.shelfG, 0);
    const range = massRange(mass, plan.unitsShown);
    cells.push({
      what: `filament, ${countOf(plates.length, planned.length > 0 ? 'run' : 'plate')}`,
      figure: { text: massValue(mass, plan.unitsShown), from: mass.from },
      detail: `${range === '' ? '' : `${range}; `}${massText({ value: shelf, from: '' }, plan.unitsShown)} of these kinds on the shelf`,
    });
  }
  const worst = tightestLimit(plan);
  if (worst !== undefined) {
    const { report, line } = worst;
    const isMass = line.unit === 'g';
    const range = isMass ? massRange(line.value, plan.unitsShown) : '';
    cells.push({
      what: `${report.name}, ${line.what}`,
      figure: {
        text: isMass
          ? massValue(line.value, plan.unitsShown)
          : limitValue({ ...line, value: { value: line.value.value, from: '' } }, plan.unitsShown),
        from: line.value.from,
      },
      detail: `${range === '' ? '' : `${range}; `}${allowedText(line, plan.unitsShown).replace('allowed at most', 'limit')}`,
    });
  } else if (plates.length > 0) {
    const time = sumFigure(plates.map((plate) => plate.durationS));
    cells.push({
      what: 'printing',
      figure: { text: durationValue(time), from: time.from },
      detail: `on ${listWords(countedNames(plates.map((plate) => names.printerName(plate.printerId))), 3)}`,
    });
  }
  return cells;
}

/** The mass limit with the least share to spare; another kind of limit only where no mass is limited. */
function tightestLimit(plan: Plan): { report: MassReport; line: LimitLine } | undefined {
  const all = flatten(plan.mass).flatMap((report) => limitLines(report).map((line) => ({ report, line })));
  const masses = all.filter(({ line }) => line.unit === 'g');
  const pool = masses.length > 0 ? masses : all;
  const share = ({ line }: (typeof all)[number]): number =>
    line.margin / Math.max(1e-9, Math.abs(line.most ?? line.least ?? 0));
  return pool.reduce<(typeof all)[number] | undefined>(
    (best, one) => (best === undefined || share(one) < share(best) ? one : best),
    undefined,
  );
}

/**
 * Sum of figures whose errors are taken as common to all of them (the same estimator, the same spool): bounds add straight.
 * Adding in squares would promise a narrower interval than uncalibrated estimates deserve.
 */
export function sumFigure(figures: readonly Figure[]): Figure {
  const from = `sum over ${countOf(figures.length, 'plate')}, errors taken as common to all`;
  const add = (pick: (f: Figure) => number): number => figures.reduce((sum, f) => sum + pick(f), 0);
  const value = add((f) => f.value);
  if (figures.every((f) => f.low === undefined || f.high === undefined)) return { value, from };
  return { value, low: add((f) => f.low ?? f.value), high: add((f) => f.high ?? f.value), from };
}

function lastEnd(plan: Plan): string {
  return plan.runs.reduce(
    (last, run) => (Date.parse(run.end) > Date.parse(last) ? run.end : last),
    plan.runs[0]?.end ?? plan.planFrom,
  );
}

const NUMBER_WORDS = [
  'no',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
];
function numberWord(n: number): string {
  return NUMBER_WORDS[n] ?? String(n);
}
