import type { Figure, MassReport, Plan } from '@stonehand/model';
import { countedNames, type PlanNames, planNames, waitingByReason } from './plan-names.ts';
import {
  capital,
  chanceWords,
  countOf,
  durationValue,
  lengthText,
  lengthValue,
  listWords,
  marginOf,
  massRange,
  massText,
  massValue,
  momentText,
  shortWords,
} from './words.ts';

/** A stretch of a sentence: plain, strong, or a figure with the source it came from. */
export type Span = Readonly<{ text: string; strong?: boolean; from?: string }>;
export type Sentence = readonly Span[];

/** The plan said in words, in the order of what people ask first. Page, Markdown and terminal show the same sentences. */
export type Summary = Readonly<{
  title: string;
  inTime: Sentence;
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
  if (plan.deadline !== undefined && plan.onTimeChance !== undefined) {
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
  const next = plan.todo[0];
  if (next === undefined) return [{ text: 'There is nothing for a person to do.' }];
  return [
    { text: 'Next: ' },
    { text: momentText(next.from, plan), strong: true },
    {
      text: `, ${next.says}${next.latestStart === undefined ? '' : ` (at the latest ${momentText(next.latestStart, plan)})`}`,
    },
    {
      text: next.says.includes(names.printerName(next.printerId)) ? '.' : `, on ${names.printerName(next.printerId)}.`,
    },
  ];
}

function buySentence(plan: Plan, names: PlanNames): Sentence {
  const spoolsOf = (rows: Plan['buy']): string[] =>
    rows
      .filter((row) => row.spools > 0)
      .map((row) => `${countOf(row.spools, 'spool')} of ${names.materialName(row.materialId)}`);
  const now = spoolsOf(plan.buy);
  const later = spoolsOf(plan.buyAll);
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
export function bestVerdicts(plan: Plan): Map<string, (typeof VERDICT_ORDER)[number]> {
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

function massSentences(plan: Plan): Sentence[] {
  const sentences: Sentence[] = [];
  for (const report of flatten(plan.mass)) {
    for (const limit of report.limits) {
      const isMass = limit.unit === 'g';
      const units = plan.unitsShown;
      const whole = (f: Figure): string => (isMass ? massText(f, units) : lengthText(f, units));
      const middle = (f: Figure): string => (isMass ? massValue(f, units) : lengthValue(f, units));
      const spans: Span[] = [
        { text: `${capital(report.name)}, ${limitName(limit.limit)}: ` },
        { text: whole(limit.value), strong: true, from: limit.value.from },
        { text: `, allowed ${statedValue(limit.allowed, limit.unit, units)}; ` },
        limit.margin >= 0
          ? { text: `${middle(marginOf(limit))} to spare` }
          : { text: `${middle(marginOf(limit))} over the limit`, strong: true },
      ];
      if (limit.chance !== undefined) spans.push({ text: ` (chance ${chanceWords(limit.chance)})` });
      if (report.missing.length > 0) spans.push({ text: `; without ${listWords(report.missing, 3)}` });
      spans.push({ text: '.' });
      sentences.push(spans);
    }
  }
  return sentences;
}

/** A limit as it was stated: exact, without decimals that nobody wrote. */
export function statedValue(value: number, unit: string, units: Plan['unitsShown']): string {
  if (unit === 'g') return massText({ value, from: '' }, units);
  return units === 'US' ? lengthText({ value, from: '' }, units) : `${Number(value.toFixed(2))} ${unit}`;
}

/** `mass` for massG; other limits as they are named, camel case taken apart. */
export function limitName(limit: string): string {
  if (limit === 'massG' || limit === 'mass at most') return 'mass';
  return limit
    .replace(/(Mm|G)(?=$|[^a-z])/g, '')
    .replace(/[._]+/g, ' ')
    .replace(/([a-z])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`)
    .trim();
}

export function flatten(reports: readonly MassReport[]): MassReport[] {
  return reports.flatMap((report) => [report, ...flatten(report.children)]);
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
  const next = plan.todo[0];
  if (next !== undefined)
    cells.push({
      what: 'next',
      figure: { text: momentText(next.from, plan) },
      detail: shortWords(next.says),
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
  if (plan.plates.length > 0) {
    const mass = sumFigure(plan.plates.map((plate) => plate.massG));
    const shelf = plan.buy.reduce((sum, row) => sum + row.shelfG, 0);
    const range = massRange(mass, plan.unitsShown);
    cells.push({
      what: 'filament',
      figure: { text: massValue(mass, plan.unitsShown), from: mass.from },
      detail: `${range === '' ? '' : `${range}; `}${massText({ value: shelf, from: '' }, plan.unitsShown)} of these kinds on the shelf`,
    });
  }
  const worst = tightestLimit(plan);
  if (worst !== undefined) {
    const { report, limit } = worst;
    const isMass = limit.unit === 'g';
    const range = isMass ? massRange(limit.value, plan.unitsShown) : '';
    cells.push({
      what: `${report.name}, ${limitName(limit.limit)}`,
      figure: {
        text: isMass ? massValue(limit.value, plan.unitsShown) : lengthValue(limit.value, plan.unitsShown),
        from: limit.value.from,
      },
      detail: `${range === '' ? '' : `${range}; `}limit ${statedValue(limit.allowed, limit.unit, plan.unitsShown)}`,
    });
  } else if (plan.plates.length > 0) {
    const time = sumFigure(plan.plates.map((plate) => plate.durationS));
    cells.push({
      what: 'printing',
      figure: { text: durationValue(time), from: time.from },
      detail: `on ${listWords(countedNames(plan.plates.map((plate) => names.printerName(plate.printerId))), 3)}`,
    });
  }
  return cells;
}

/** The mass limit with the least share to spare; another kind of limit only where no mass is limited. */
function tightestLimit(plan: Plan): { report: MassReport; limit: MassReport['limits'][number] } | undefined {
  const all = flatten(plan.mass).flatMap((report) => report.limits.map((limit) => ({ report, limit })));
  const masses = all.filter(({ limit }) => limit.unit === 'g');
  const pool = masses.length > 0 ? masses : all;
  const share = ({ limit }: (typeof all)[number]): number => limit.margin / Math.max(1e-9, Math.abs(limit.allowed));
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

export function lastEnd(plan: Plan): string {
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
