import type { Search } from '@stonehand/model';
import type { Layout } from './layout.ts';

/** A round is this many looks at a place of an item: about a millisecond on a machine of 2026. */
export const EVALUATIONS_PER_ROUND = 1000;

/** What a search may still spend. `stop` is asked between moves; it ends a search early, and the result says so. */
export type Budget = { readonly evaluations: number; readonly stop: (() => boolean) | undefined; stopped: boolean };

export function budgetOf(rounds: number, stop?: () => boolean): Budget {
  return { evaluations: rounds * EVALUATIONS_PER_ROUND, stop, stopped: false };
}

export function isSpent(budget: Budget, layout: Layout): boolean {
  if (budget.stopped || layout.evaluations >= budget.evaluations) return true;
  if (budget.stop?.() === true) budget.stopped = true;
  return budget.stopped;
}

export function endedHow(budget: Budget, proven: boolean): Search['ended'] {
  if (proven) return 'proven';
  return budget.stopped ? 'time' : 'rounds';
}
