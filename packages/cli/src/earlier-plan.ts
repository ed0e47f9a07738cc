import { readFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Plan, Workspace } from '@stonehand/model';
import { checkPlanJson } from '@stonehand/shop';

/** Where the plans of a workspace are written unless --out says otherwise. */
export function plansFolder(workspace: Workspace, out?: string): string {
  return resolve(out ?? join(workspace.root, workspace.reportsFolder ?? 'reports'));
}

/** The plan that lies in the folder, if it is one of this workspace and can be read. */
export async function earlierPlan(workspace: Workspace, folder: string): Promise<Plan | undefined> {
  let text: string;
  try {
    text = await readFile(join(folder, 'plan.json'), 'utf8');
  } catch {
    return undefined;
  }
  try {
    const plan = checkPlanJson(JSON.parse(text));
    return plan.name === workspace.name ? plan : undefined;
  } catch (error) {
    // A plan of another version is no reason not to make one.
    if (error instanceof StonehandError || error instanceof SyntaxError) return undefined;
    throw error;
  }
}
