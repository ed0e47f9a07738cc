import { StonehandError } from '@stonehand/base';
import { trialEstimates } from '@stonehand/engine';
import type { LedgerEntry, Workspace } from '@stonehand/model';
import { pickById } from './pick-by-id.ts';

/** Copies of parts carry a number behind their name, so that a part may be called the same. */
const TRIAL = /^trial-(walls|fill|support)$/;

type Named = Readonly<{ printer?: string; material?: string; recipe?: string }>;

/**
 * What the model said of a trial print that is being recorded: it is no part of the workspace, so the ledger's line carries it. Undefined for parts.
 * @throws StonehandError USAGE where several are named, or printer or material are not
 */
export async function trialRecorded(
  copies: readonly string[],
  { printer, material, recipe }: Named,
  workspace: Workspace,
): Promise<LedgerEntry['expected']> {
  if (!copies.some((copy) => TRIAL.test(copy))) return undefined;
  if (copies.length > 1 || printer === undefined || material === undefined) {
    throw new StonehandError(
      'USAGE',
      `record ${copies.join(' ')}: a trial print is recorded by itself, with its printer and material`,
      `Such as: stonehand record done ${copies[0] ?? ''} --printer loft --material white-abs --grams 14.2 --minutes 48`,
    );
  }
  const filament = pickById(workspace.materials, material, 'material');
  const used = pickById(workspace.recipes, recipe, 'recipe');
  const trials = await trialEstimates(used, pickById(workspace.printers, printer, 'printer'), filament);
  const found = pickById(
    trials.map(({ print, estimate }) => ({ id: print.id, estimate })),
    copies[0],
    'trial print',
  );
  const { durationS, byKind } = found.estimate;
  return { materialId: filament.id, recipeId: used.id, durationS: durationS.value, byKind };
}
