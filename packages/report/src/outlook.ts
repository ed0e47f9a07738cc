import type { BuildForecast, Plan } from '@stonehand/model';
import type { PlanNames } from './plan-names.ts';
import type { Sentence, Span } from './summary.ts';
import { capital, chanceWords, countOf, durationValue, momentText } from './words.ts';

/** How sure this window is, and which run matters most. */
export function windowSentence(plan: Plan, names: PlanNames): Sentence {
  const { windowChance, failures = 0, mattersMost } = plan.outlook ?? {};
  if (windowChance === undefined) return [];
  const spans: Span[] = [
    { text: 'All of it gets done within the window: ' },
    { text: chanceWords(windowChance), strong: true, from: 'simulated run times and failures of the planned runs' },
  ];
  if (failures >= 0.05) spans.push({ text: `; ${failuresWords(failures)}` });
  const run = mattersMost === undefined ? undefined : names.run(mattersMost.runId);
  const plate = run === undefined ? undefined : names.plate(run.plateId);
  if (plate !== undefined && mattersMost!.delayS >= 3600) {
    spans.push({ text: `. What matters most is ` }, { text: plate.name, strong: true });
    spans.push({
      text: `: it fails ${chanceWords(mattersMost!.failChance)} times, and then the last run ends ${laterText(mattersMost!.delayS)} later`,
    });
  }
  spans.push({ text: '.' });
  return spans;
}

function failuresWords(failures: number): string {
  if (failures < 0.75) return `a failed run is ${chanceWords(1 - Math.exp(-failures))}`;
  return `${countOf(Math.round(failures), 'failed run is', 'failed runs are')} to be expected`;
}

function laterText(seconds: number): string {
  const days = seconds / 86_400;
  return days < 1.5 ? durationValue({ value: seconds, from: '' }) : `${Math.round(days)} days`;
}

/** When all that remains is done: in windows like this one, and on the hours as they are. */
export function remainingSentences(plan: Plan): Sentence[] {
  const forecasts = plan.outlook?.forecasts ?? [];
  const stated = forecasts.find(({ printing }) => printing === 'asStated');
  if (stated === undefined) return [];
  const windows = forecasts.find(({ printing }) => printing === 'likeThisWindow');
  const count = countOf(stated.runs + stated.never.length, 'plate');
  const sentences: Sentence[] = [];
  if (windows?.finish !== undefined) {
    const n = windows.windows ?? 1;
    sentences.push([
      { text: `All that remains, ${count}: ` },
      { text: n === 1 ? 'this window is enough' : `${n} windows like this one`, strong: true },
      ...doneSpans(windows, plan),
    ]);
  }
  const lead = windows === undefined ? `All that remains, ${count}` : 'Printing whenever you are there';
  if (stated.finish === undefined)
    sentences.push([
      { text: `${lead}: ` },
      { text: 'nothing of it can ever run on these hours', strong: true },
      { text: '.' },
    ]);
  else {
    const never: Span[] =
      stated.never.length === 0
        ? []
        : [
            { text: ' ' },
            { text: capital(countOf(stated.never.length, 'plate')), strong: true },
            { text: ' can never run on these hours.' },
          ];
    sentences.push([{ text: lead }, ...doneSpans(stated, plan), ...never]);
  }
  return sentences;
}

/** `, printed Tue 00:07 if nothing fails (80 % by ...), finished Wed 20:18; about 19 in 20 for ...` */
function doneSpans({ finish, at80, at95, built, chance }: BuildForecast, plan: Plan): Span[] {
  const sure = [
    at80 === undefined ? '' : `80 % by ${momentText(at80, plan)}`,
    at95 === undefined ? '' : `95 % by ${momentText(at95, plan)}`,
  ].filter((text) => text !== '');
  const spans: Span[] = [
    {
      text: `, printed ${momentText(finish!, plan)} if nothing fails${sure.length === 0 ? '' : ` (${sure.join(', ')})`}`,
    },
  ];
  if (built !== undefined) spans.push({ text: `, glued and painted ${momentText(built, plan)}` });
  if (chance !== undefined && plan.deadline !== undefined) {
    spans.push(
      { text: '; ' },
      { text: chanceWords(chance), strong: true, from: 'simulated run times and failures of all that remains' },
    );
    spans.push({ text: ` for ${momentText(plan.deadline, plan)}` });
  }
  spans.push({ text: '.' });
  return spans;
}

/** What was kept of the plan before. */
export function followsSentence(plan: Plan): Sentence {
  if (plan.follows === undefined) return [];
  const { moved = [] } = plan;
  const spans: Span[] = [{ text: `Goes on from the plan of ${momentText(plan.follows.planFrom, plan)}: ` }];
  if (moved.length === 0) spans.push({ text: 'no run had to move', strong: true }, { text: '.' });
  else spans.push({ text: countOf(moved.length, 'run'), strong: true }, { text: ' moved, each for its reason below.' });
  return spans;
}

/** Runs that moved, one line each: `skull: Sat 10:41 to Sat 11:20, because loft is busy with ...`. */
export function movedLines(plan: Plan): string[] {
  return (plan.moved ?? []).map(({ name, was, now, why }) => {
    const before = momentText(was.start, plan);
    if (now === undefined) return `${name}, ${before} on ${was.printerId}: ${why}`;
    const on = now.printerId === was.printerId ? '' : ` on ${now.printerId}`;
    const to = `${momentText(now.start, plan)}${on}`;
    const because = why.startsWith('so that') ? why : `because ${why}`;
    return `${name}, ${before} on ${was.printerId}: now ${to}, ${because}`;
  });
}

export type WhatIfRow = Readonly<{ what: string; window: string; finish: string; sure: string; deadline: string }>;

/** A row for each change of the shop or the hours that was tried. */
export function whatIfRows(plan: Plan): WhatIfRow[] {
  return (plan.outlook?.whatIf ?? []).map(({ what, plates, forecast }) => ({
    what,
    window: plates === undefined ? 'as it is' : countOf(plates, 'run'),
    finish:
      forecast.finish === undefined
        ? 'never'
        : `${momentText(forecast.finish, plan)}${forecast.windows === undefined ? '' : `, ${countOf(forecast.windows, 'window')}`}`,
    sure: forecast.at80 === undefined ? '' : momentText(forecast.at80, plan),
    deadline: forecast.chance === undefined ? '' : chanceWords(forecast.chance),
  }));
}

const HELPS = 0.1;

/** For a deadline that will probably be missed: what makes it likelier. */
export function helpSentence(plan: Plan): Sentence {
  const [base, ...others] = plan.outlook?.whatIf ?? [];
  const chance = base?.forecast.chance;
  if (chance === undefined || chance >= 0.5) return [];
  const better = others
    .filter(({ forecast }) => (forecast.chance ?? 0) >= chance + HELPS)
    .sort((a, b) => (b.forecast.chance ?? 0) - (a.forecast.chance ?? 0));
  if (better.length === 0)
    return [
      { text: 'No third evening and no further printer of the kinds here makes the deadline likelier', strong: true },
      { text: ': print less, or later.' },
    ];
  const said = better.slice(0, 3).map(({ what, forecast }) => `${what} (${chanceWords(forecast.chance!)})`);
  return [{ text: 'What would help: ' }, { text: said.join(', '), strong: true }, { text: '.' }];
}
