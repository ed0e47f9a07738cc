import type { Workspace } from '@stonehand/model';
import type { PartWork } from './part-work.ts';
import { snapshotOf } from './under-way.ts';

/**
 * The workspace with the poses that parts were printed in, from the ledger's snapshots, as if they had been accepted: what is printed
 * does not move because a later search found something better, and a piece that broke is printed again as it was. Whole parts whose
 * mesh is still the one that was printed; an accepted pose counts before.
 */
export function withPrintedPoses(workspace: Workspace, works: readonly PartWork[]): Workspace {
  const printed: Record<string, { rotation: readonly number[]; note: string }> = {};
  for (const entry of workspace.ledger) {
    if (entry.what !== 'done') continue;
    for (const { id, meshHash, rotation } of snapshotOf(entry)?.pieces ?? []) {
      const work = works.find(({ spec }) => spec.id === id);
      if (work?.ref?.contentHash === meshHash) printed[id] = { rotation, note: 'as it was printed' };
    }
  }
  const { accepted } = workspace;
  return { ...workspace, accepted: { ...accepted, poses: { ...printed, ...accepted.poses } } };
}
