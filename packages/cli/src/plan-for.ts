import { type PlanResult, planWorkspace } from '@stonehand/engine';
import { parseMoment, toInstant } from '@stonehand/schedule';
import type { CommonOptions, Context } from './context.ts';
import { earlierPlan, plansFolder } from './earlier-plan.ts';
import { workspaceOnDisk } from './workspace-of.ts';

type Window = Readonly<{ from?: string; to?: string; out?: string }>;

/** The plan of a workspace for a window, from the cache where nothing changed. */
export async function planFor(
  path: string | undefined,
  { from, to, out, units }: Window & CommonOptions,
  context: Context,
): Promise<PlanResult> {
  const workspace = await workspaceOnDisk(path, units === undefined ? {} : { units });
  const { timeZone } = workspace;
  const now = toInstant(Math.floor(Date.now() / 1000), timeZone);
  const start = from === undefined ? now : parseMoment(from, { timeZone, reference: now });
  const engine = context.engine(workspace.root);
  const earlier = await earlierPlan(workspace, plansFolder(workspace, out));
  return planWorkspace(engine, workspace, {
    from: start,
    ...(to === undefined ? {} : { to: parseMoment(to, { timeZone, reference: start }) }),
    ...(earlier === undefined ? {} : { earlier }),
  });
}
