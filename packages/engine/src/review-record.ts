import { factorOf, PRIORS, type Shares } from '@stonehand/estimate';
import type { Review, ReviewFactor, ReviewRow, Workspace } from '@stonehand/model';
import { heldOut, type Learning } from './learn.ts';
import type { RecordLine } from './record-lines.ts';

/** How far off the estimates were, each recorded figure held against what all others say, and what is still uncalibrated. */
export function reviewRecord(workspace: Workspace, learning: Learning): Review {
  const { lines } = learning;
  const factor = (quantity: RecordLine['quantity'], of: string): ReviewFactor => {
    const mine = lines.filter((line) => line.quantity === quantity && line.of === of);
    const learnt = learning.of({ materialId: of, printerId: of })[quantity];
    const { value, low, high } = mine.length === 0 ? stated(quantity) : factorOf(learnt, ORDINARY[quantity]);
    return { quantity, of, records: mine.length, factor: { value, low, high }, lacks: lacking(mine) };
  };
  return {
    rows: heldOut(lines).map(
      ({ at, what, copyIds, quantity, of, real, said, low, high, others }): ReviewRow => ({
        at,
        what,
        copyIds,
        quantity,
        of,
        real,
        said: { value: said, low, high, level: PRIORS.level, from: `${others} other records` },
        others,
        inside: real >= low && real <= high,
      }),
    ),
    factors: [
      ...workspace.materials.map(({ id }) => factor('mass', id)),
      ...workspace.printers.map(({ id }) => factor('time', id)),
    ],
  };
}

/** A print with a little of everything. */
const ORDINARY: Readonly<Record<RecordLine['quantity'], Shares>> = {
  mass: { walls: 0.5, fill: 0.45, support: 0.05 },
  time: { walls: 0.35, fill: 0.35, support: 0.05 },
};

function stated(quantity: RecordLine['quantity']): { value: number; low: number; high: number } {
  const { low, high } = PRIORS[quantity];
  return { value: 1, low: 1 - low, high: 1 + high };
}

/** A kind of bead is known from prints in which it is more than this share. */
const TELLING: Shares = { walls: 0.4, fill: 0.4, support: 0.2 };

function lacking(lines: readonly RecordLine[]): ReviewFactor['lacks'] {
  return (['walls', 'fill', 'support'] as const).filter(
    (group) => !lines.some(({ shares }) => shares[group] >= TELLING[group]),
  );
}
