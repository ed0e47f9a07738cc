import { StonehandError } from '@stonehand/base';
import { fitParts, partWorks } from '@stonehand/engine';
import { acceptChoice, type Choice } from '@stonehand/shop';
import { acceptPlate } from '../accept-plate.ts';
import { dropProposal, proposalFor } from '../cut-proposal.ts';
import { partIdNamed } from '../part-named.ts';
import type { Verb } from '../program.ts';
import { workspaceOnDisk } from '../workspace-of.ts';

/** Keeps a plate of the last plan, or what `split` proposed last for the part, else what the plan would do with it now. */
export const accept: Verb<{ plate?: string }> = async ([name = ''], options, context) => {
  const workspace = await workspaceOnDisk(undefined);
  if (options.plate !== undefined) {
    const plate = await acceptPlate(workspace, options.plate);
    const copies = plate.placed.map(({ copyId }) => copyId);
    const says = `accepted: ${plate.name} on ${plate.printerId} stays as it is (${copies.join(', ')})`;
    context.print(options.json === true ? JSON.stringify({ kind: 'plate', ...plate }) : says);
    return 0;
  }
  const engine = context.engine(workspace.root);
  const works = await partWorks(engine, workspace);
  const partId = partIdNamed(
    works.map(({ spec }) => spec.id),
    name,
  );
  const hash = works.find(({ spec }) => spec.id === partId)?.ref?.contentHash ?? '';
  const proposal = proposalFor(engine.cacheFolder, partId, hash);
  const kept = workspace.accepted.cuts[partId];
  if (proposal === undefined && kept !== undefined) {
    context.print(
      options.json === true
        ? JSON.stringify({ kind: 'cuts', partId, planes: kept })
        : `${partId}: ${cutsText(kept.length)} already accepted, left as they are`,
    );
    return 0;
  }
  const { choice, says } =
    proposal === undefined
      ? plannedChoice(await fitParts(engine, workspace, { seed: workspace.seed }), partId)
      : {
          choice: { kind: 'cuts', partId, planes: proposal.planes } as const,
          says: `${cutsText(proposal.planes.length)}, as split proposed`,
        };
  await acceptChoice(workspace.root, choice);
  if (proposal !== undefined) dropProposal(engine.cacheFolder, partId);
  context.print(options.json === true ? JSON.stringify(choice) : `accepted for ${partId}: ${says}`);
  return 0;
};

function plannedChoice(
  outcomes: Awaited<ReturnType<typeof fitParts>>,
  partId: string,
): Readonly<{ choice: Choice; says: string }> {
  const outcome = outcomes.find(({ part }) => part.spec.id === partId)!;
  const [piece] = outcome.pieces;
  if (piece === undefined)
    throw new StonehandError(
      'USAGE',
      `${partId}: there is nothing to accept, ${outcome.why ?? 'it is not printed here'}`,
      'See: stonehand fit',
    );
  if (outcome.planes === undefined) {
    const { rotation, reason } = piece.pose;
    return { choice: { kind: 'pose', pieceId: partId, rotation, note: reason }, says: `pose: ${reason}` };
  }
  return {
    choice: { kind: 'cuts', partId, planes: outcome.planes },
    says: `${cutsText(outcome.planes.length)} into ${outcome.pieces.length} pieces`,
  };
}

const cutsText = (count: number): string => `${count} ${count === 1 ? 'cut' : 'cuts'}`;
