import { StonehandError } from '@stonehand/base';
import { fitParts } from '@stonehand/engine';
import { acceptChoice, type Choice } from '@stonehand/shop';
import { acceptPlate } from '../accept-plate.ts';
import type { Verb } from '../program.ts';
import { workspaceOnDisk } from '../workspace-of.ts';

export const accept: Verb<{ plate?: string }> = async ([partId], options, context) => {
  const workspace = await workspaceOnDisk(undefined);
  if (options.plate !== undefined) {
    const plate = await acceptPlate(workspace, options.plate);
    const copies = plate.placed.map(({ copyId }) => copyId);
    const says = `accepted: ${plate.name} on ${plate.printerId} stays as it is (${copies.join(', ')})`;
    context.print(options.json === true ? JSON.stringify({ kind: 'plate', ...plate }) : says);
    return 0;
  }
  const engine = context.engine(workspace.root);
  const outcomes = await fitParts(engine, workspace, { seed: workspace.seed });
  const outcome = outcomes.find(({ part }) => part.spec.id === partId);
  if (outcome === undefined)
    throw new StonehandError(
      'DATA_UNKNOWN',
      `there is no part "${partId ?? ''}"`,
      `Known: ${outcomes.map(({ part }) => part.spec.id).join(', ')}.`,
    );
  const [piece] = outcome.pieces;
  if (piece === undefined)
    throw new StonehandError(
      'USAGE',
      `${partId}: there is nothing to accept, ${outcome.why ?? 'it is not printed here'}`,
      'See: stonehand fit',
    );
  const choice: Choice =
    outcome.planes === undefined
      ? { kind: 'pose', pieceId: outcome.part.spec.id, rotation: piece.pose.rotation, note: piece.pose.reason }
      : { kind: 'cuts', partId: outcome.part.spec.id, planes: outcome.planes };
  await acceptChoice(workspace.root, choice);
  const says =
    outcome.planes === undefined
      ? `pose: ${piece.pose.reason}`
      : `${outcome.planes.length} cuts into ${outcome.pieces.length} pieces`;
  context.print(options.json === true ? JSON.stringify(choice) : `accepted for ${partId}: ${says}`);
  return 0;
};
