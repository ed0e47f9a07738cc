import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Plan, Plate, Workspace } from '@stonehand/model';
import { acceptChoice, checkPlanJson } from '@stonehand/shop';

/**
 * Keeps a plate of the last plan, with the poses of what lies on it: later plans leave it as it is.
 * @param name the plate's name, or the end of its id as on its sheet and in its files' names
 */
export async function acceptPlate(workspace: Workspace, name: string): Promise<Plate> {
  const plan = lastPlan(workspace);
  const found = plan.plates.filter((plate) => plate.name === name || plate.id.endsWith(name));
  const [plate] = found;
  if (plate === undefined || found.length > 1) {
    const known = plan.plates.map(({ name: called, id }) => `${called} (${id.slice(-6)})`).join(', ');
    const many = found.length > 1 ? `${found.length} plates are called "${name}"` : `no plate is called "${name}"`;
    throw new StonehandError('DATA_UNKNOWN', `${many} in the last plan`, `Name one of: ${known}.`);
  }
  await acceptChoice(workspace.root, { kind: 'plate', printerId: plate.printerId, placed: plate.placed });
  const pieceIds = [...new Set(plate.placed.map(({ copyId }) => copyId.slice(0, copyId.lastIndexOf('#'))))];
  for (const pieceId of pieceIds) {
    const pose = plan.pieces.find(({ id }) => id === pieceId)?.pose;
    if (pose === undefined) continue;
    await acceptChoice(workspace.root, { kind: 'pose', pieceId, rotation: pose.rotation, note: pose.reason });
  }
  return plate;
}

function lastPlan(workspace: Workspace): Plan {
  const file = join(resolve(workspace.root, workspace.reportsFolder ?? 'reports'), 'plan.json');
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (cause) {
    throw new StonehandError('FILE_MISSING', `${file}: there is no plan yet`, 'Make one with: stonehand plan', {
      cause,
    });
  }
  return checkPlanJson(JSON.parse(text));
}
