import { StonehandError } from '@stonehand/base';
import type { LedgerEntry } from '@stonehand/model';
import { parseMoment, toInstant } from '@stonehand/schedule';
import { appendLedger } from '@stonehand/shop';
import { earlierPlan, plansFolder } from '../earlier-plan.ts';
import type { Verb } from '../program.ts';
import { type About, ofTrial, type RecordOptions, TELL } from '../record-tell.ts';
import { trialRecorded } from '../trial-recorded.ts';
import { workspaceOnDisk } from '../workspace-of.ts';

export const record: Verb<RecordOptions> = async ([what, ...names], options, context) => {
  if (options.review === true) return (await import('../record-review.ts')).recordReview(options, context);
  const tell = TELL[what ?? ''];
  if (tell === undefined) {
    throw new StonehandError(
      'USAGE',
      `record ${what ?? ''}: not something that is recorded`,
      `Say one of: ${Object.keys(TELL).join(', ')}.`,
    );
  }
  if (names.length === 0)
    throw new StonehandError(
      'USAGE',
      `record ${what}: of what?`,
      "Name a part, a plate or a printer, such as 'skull'.",
    );
  const workspace = await workspaceOnDisk(undefined);
  const trial = await trialRecorded(names, options, workspace);
  const plan = await earlierPlan(workspace, plansFolder(workspace, options.plan));
  const about: About = { names, options, workspace, ...(plan === undefined ? {} : { plan }) };
  const told = trial === undefined ? tell(about) : ofTrial(what as LedgerEntry['what'], about, trial);
  const now = toInstant(Math.floor(Date.now() / 1000), workspace.timeZone);
  const entry = await appendLedger(workspace.root, {
    at: options.at === undefined ? now : parseMoment(options.at, { timeZone: workspace.timeZone, reference: now }),
    what: told.what,
    ...told.facts,
    ...(options.minutes === undefined ? {} : { durationS: options.minutes * 60 }),
    ...(options.note === undefined ? {} : { note: options.note }),
  });
  context.print(options.json === true ? JSON.stringify(entry) : `recorded: ${told.says}`);
  return what === 'forecast' ? (await import('../record-review.ts')).forecastChecked(entry, workspace, context) : 0;
};
