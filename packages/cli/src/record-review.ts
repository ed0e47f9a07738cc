import { checkForecast, learningFrom, reviewRecord } from '@stonehand/engine';
import type { LedgerEntry, Workspace } from '@stonehand/model';
import { renderForecast, renderReview } from '@stonehand/report';
import type { CommonOptions, Context } from './context.ts';
import { workspaceOnDisk } from './workspace-of.ts';

/** Held-out errors of the ledger, what it taught, and what is still uncalibrated. */
export async function recordReview({ json, units }: CommonOptions, context: Context): Promise<number> {
  const workspace = await workspaceOnDisk(undefined, units === undefined ? {} : { units });
  const learning = await learningFrom(context.engine(workspace.root), workspace);
  const review = reviewRecord(workspace, learning);
  context.print(json === true ? JSON.stringify(review) : renderReview(review, textOptions(workspace, context)));
  return 0;
}

/** Compares a forecast that was just written down with the estimate; 1 when they are too far apart. */
export async function forecastChecked(
  { copyIds = [], printerId, massG, durationS, expected }: LedgerEntry,
  workspace: Workspace,
  context: Context,
): Promise<number> {
  if (expected !== undefined) return 0;
  const checks = await checkForecast(context.engine(workspace.root), workspace, {
    copyIds,
    ...(printerId === undefined ? {} : { printerId }),
    ...(massG === undefined ? {} : { massG }),
    ...(durationS === undefined ? {} : { durationS }),
  });
  if (context.options.json !== true) context.print(renderForecast(checks, textOptions(workspace, context)));
  return checks.some(({ inside }) => !inside) ? 1 : 0;
}

function textOptions({ unitsShown }: Workspace, { width, colour }: Context): object {
  return { width, colour, units: unitsShown };
}
