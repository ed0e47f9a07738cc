import { type Shares, sharesOf } from '@stonehand/estimate';
import type { Amount, Estimate, LedgerEntry, Workspace } from '@stonehand/model';
import type { SlicedPiece } from './estimate-pieces.ts';
import { togetherS } from './plate-figures.ts';

/** One figure of the ledger beside what the model says of the same copies, before any correction. */
export type RecordLine = Readonly<{
  at: string;
  what: 'done' | 'weighed' | 'forecast';
  copyIds: readonly string[];
  quantity: 'mass' | 'time';
  /** material of a mass, printer of a time */
  of: string;
  real: number;
  modelled: number;
  shares: Shares;
}>;

/**
 * What of the ledger can be compared: grams of prints done (plastic used, support and brim with it), of copies weighed (as cleaned), and of
 * forecasts; minutes of prints done and of forecasts where the printer is named. Forecasts of copies that were really weighed or timed
 * since are left out, and so are copies that have no mesh now.
 */
export function recordLines(workspace: Workspace, pieces: readonly SlicedPiece[]): RecordLine[] {
  const lines = workspace.ledger.flatMap((entry) => [
    ...massLine(entry, pieces),
    ...timeLine(entry, pieces, workspace),
  ]);
  const measured = new Set(lines.filter(({ what }) => what !== 'forecast').map(nameOf));
  return lines.filter((line) => line.what !== 'forecast' || !measured.has(nameOf(line)));
}

const nameOf = ({ quantity, copyIds }: RecordLine): string => `${quantity} ${[...copyIds].sort().join(' ')}`;

type Compared = RecordLine['what'];
const isCompared = (what: LedgerEntry['what']): what is Compared =>
  what === 'done' || what === 'weighed' || what === 'forecast';

function massLine(entry: LedgerEntry, pieces: readonly SlicedPiece[]): RecordLine[] {
  const { at, what, massG, copyIds = [] } = entry;
  if (!isCompared(what) || massG === undefined || massG <= 0) return [];
  const model = entry.expected ?? modelOf(entry, pieces);
  if (model === undefined) return [];
  const byKind = what === 'weighed' ? model.byKind.filter(staysInPart) : model.byKind;
  const modelled = sum(byKind.map((amount) => amount.massG));
  const shares = sharesOf(byKind, 'massG', modelled);
  return [{ at, what, copyIds, quantity: 'mass', of: model.materialId, real: massG, modelled, shares }];
}

function timeLine(entry: LedgerEntry, pieces: readonly SlicedPiece[], workspace: Workspace): RecordLine[] {
  const { at, what, durationS, printerId, copyIds = [] } = entry;
  if ((what !== 'done' && what !== 'forecast') || durationS === undefined || durationS <= 0) return [];
  const model = entry.expected ?? modelOf(entry, pieces);
  if (model === undefined || printerId === undefined) return [];
  const modelled = 'alone' in model ? togetherS(model.alone, printerId, workspace) : model.durationS;
  if (modelled === undefined) return [];
  const shares = sharesOf(model.byKind, 'durationS', model.durationS);
  return [{ at, what, copyIds, quantity: 'time', of: printerId, real: durationS, modelled, shares }];
}

type Model = Omit<NonNullable<LedgerEntry['expected']>, 'recipeId'>;
type ModelOfCopies = Model & Readonly<{ alone: readonly Estimate[] }>;

/** The model's figures of the copies, added up, where they are of one material. */
function modelOf(entry: LedgerEntry, pieces: readonly SlicedPiece[]): ModelOfCopies | undefined {
  const alone = estimatesOf(entry.copyIds ?? [], pieces, entry.printerId);
  const materialId = alone?.[0]?.materialId;
  if (alone === undefined || materialId === undefined) return undefined;
  if (alone.some((estimate) => estimate.materialId !== materialId)) return undefined;
  const byKind = alone.flatMap((estimate) => estimate.byKind);
  return { materialId, byKind, durationS: sum(alone.map(({ durationS }) => durationS.value)), alone };
}

const REMOVED = new Set(['support', 'contact', 'brim', 'purge']);
const staysInPart = ({ kind }: Amount): boolean => !REMOVED.has(kind);
const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

/** The estimate of every piece of every copy, on that printer where one is named; undefined when one of them is not to be had. */
function estimatesOf(
  copyIds: readonly string[],
  pieces: readonly SlicedPiece[],
  printerId: string | undefined,
): Estimate[] | undefined {
  if (copyIds.length === 0) return undefined;
  const found: Estimate[] = [];
  for (const copyId of copyIds) {
    const id = copyId.slice(0, copyId.lastIndexOf('#'));
    // "part#2" also stands for every piece of that copy.
    const mine = pieces.filter(({ piece }) => piece.id === id || piece.partId === id);
    if (mine.length === 0) return undefined;
    for (const { estimates } of mine) {
      const estimate =
        printerId === undefined ? estimates[0] : estimates.find((candidate) => candidate.printerId === printerId);
      if (estimate === undefined) return undefined;
      found.push(estimate);
    }
  }
  return found;
}
