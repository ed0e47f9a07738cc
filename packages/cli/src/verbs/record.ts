import { nearestName, parseMassG, StonehandError } from '@stonehand/base';
import { allParts } from '@stonehand/engine';
import type { LedgerEntry, Workspace } from '@stonehand/model';
import { parseMoment, toInstant } from '@stonehand/schedule';
import { appendLedger } from '@stonehand/shop';
import { pickById } from '../pick-by-id.ts';
import type { Verb } from '../program.ts';
import { trialRecorded } from '../trial-recorded.ts';
import { workspaceOnDisk } from '../workspace-of.ts';

type RecordOptions = Readonly<{
  layer?: number;
  saved?: readonly string[];
  grams?: string;
  review?: boolean;
  printer?: string;
  material?: string;
  recipe?: string;
  minutes?: number;
  at?: string;
  note?: string;
}>;

const WHAT = ['started', 'done', 'failed', 'weighed', 'have', 'forecast'] as const;

export const record: Verb<RecordOptions> = async ([what, ...copies], options, context) => {
  if (options.review === true) return (await import('../record-review.ts')).recordReview(options, context);
  if (!WHAT.some((known) => known === what)) {
    throw new StonehandError(
      'USAGE',
      `record ${what ?? ''}: not something that is recorded`,
      `Say one of: ${WHAT.join(', ')}.`,
    );
  }
  if (copies.length === 0)
    throw new StonehandError('USAGE', `record ${what}: of what?`, "Name the copies, such as 'heron/head/skull#1'.");
  const workspace = await workspaceOnDisk(undefined);
  const trial = await trialRecorded(copies, options, workspace);
  if (trial === undefined) for (const copy of [...copies, ...(options.saved ?? [])]) checkCopy(copy, workspace);
  const printer = options.printer === undefined ? undefined : pickById(workspace.printers, options.printer, 'printer');
  const now = toInstant(Math.floor(Date.now() / 1000), workspace.timeZone);
  const entry: LedgerEntry = {
    version: 1,
    at: options.at === undefined ? now : parseMoment(options.at, { timeZone: workspace.timeZone, reference: now }),
    what: what as (typeof WHAT)[number],
    copyIds: copies,
    ...(printer === undefined ? {} : { printerId: printer.id }),
    ...(trial === undefined ? {} : { expected: trial }),
    ...(options.saved === undefined ? {} : { savedIds: options.saved }),
    ...(options.layer === undefined ? {} : { layer: options.layer }),
    ...(options.grams === undefined ? {} : { massG: parseMassG(options.grams) }),
    ...(options.minutes === undefined ? {} : { durationS: options.minutes * 60 }),
    ...(options.note === undefined ? {} : { note: options.note }),
  };
  await appendLedger(workspace.root, entry);
  context.print(options.json === true ? JSON.stringify(entry) : `recorded: ${what} ${copies.join(', ')}`);
  return what === 'forecast' ? (await import('../record-review.ts')).forecastChecked(entry, workspace, context) : 0;
};

function checkCopy(copy: string, workspace: Workspace): void {
  const at = copy.lastIndexOf('#');
  const id = at < 0 ? copy : copy.slice(0, at);
  const parts = [...allParts(workspace.assemblies)];
  // A piece of a cut part is the part's id with a letter behind it.
  const part = parts.find((candidate) => candidate.id === id || id.startsWith(`${candidate.id}/`));
  const number = at < 0 ? Number.NaN : Number(copy.slice(at + 1));
  if (part === undefined) {
    const near = nearestName(
      id,
      parts.map((candidate) => candidate.id),
    );
    throw new StonehandError(
      'DATA_UNKNOWN',
      `"${copy}": there is no such part`,
      near === undefined ? 'Name a copy as assembly/part#1.' : `Did you mean "${near}#1"?`,
    );
  }
  if (!Number.isInteger(number) || number < 1 || number > part.quantity + part.spares) {
    throw new StonehandError(
      'DATA_UNKNOWN',
      `"${copy}": ${part.id} has copies #1 to #${part.quantity + part.spares}`,
      `Name one of them, such as ${part.id}#1.`,
    );
  }
}
