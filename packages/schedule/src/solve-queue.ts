import { constructChoices } from './construct-queue.ts';
import { exactQueue } from './exact-queue.ts';
import { finishBound } from './finish-bound.ts';
import { type Choice, compareScores, drawStarts, type Queue, type Score } from './queue.ts';
import { searchLists } from './search-lists.ts';
import { copyChoice, searchQueue } from './search-queue.ts';
import { createTimer, type Timing } from './time-choice.ts';

export interface SolveQueueOptions {
  /** budget of the search (default 200); 400 changes are tried in each */
  readonly rounds?: number;
  readonly seed?: number;
  /** asked between rounds; true ends the search with the best so far */
  readonly stop?: () => boolean;
  /** longest queue for the exact programme (default 16) */
  readonly exactJobs?: number;
  /** a packing of the draws onto the stocks that is known to be possible */
  readonly stockOf?: Int32Array;
}

export interface QueueAnswer {
  readonly choice: Choice;
  readonly timing: Timing;
  readonly score: Score;
  /** lower bounds; that of the finish is for answers that leave no more behind and are no later, and absent when none is known */
  readonly bound: Readonly<{ leftBehind: number; late: number; finish?: number }>;
  readonly proven: boolean;
  readonly rounds: number;
  readonly ended: 'proven' | 'rounds' | 'time';
}

/** The best order found, with bounds beside it: exact for short queues, constructed and improved for long ones. */
export function solveQueue(queue: Queue, options: SolveQueueOptions = {}): QueueAnswer {
  const { rounds = 200, seed = 1, stop, exactJobs = 16 } = options;
  const stockOf = options.stockOf ?? new Int32Array(drawStarts(queue)[queue.jobs.length]!).fill(-1);
  const starts = constructChoices(queue, stockOf);
  const exact = exactQueue(queue, exactJobs);
  if (exact !== undefined) {
    const choice = copyChoice(exact.choice);
    choice.stockOf.set(stockOf);
    starts.unshift(choice);
  }
  const bound = exact ?? {
    leftBehind: 0,
    late: queue.measure === 'tardiness' ? 0 : -Infinity,
    finish: finishBound(queue),
  };
  const goal = Float64Array.of(bound.leftBehind, bound.late, bound.finish, 0, 0, 0);
  const apart = queue.persons === 'enough' && queue.stocks.length === 0 && queue.machines.length > 1;
  const lists = apart ? searchLists(queue, bestOf(queue, starts), { rounds, seed, stop, goal }) : undefined;
  if (lists !== undefined) starts.unshift(lists.choice);
  // What the lists leave to do is fewer visits and changes, a short walk.
  const budget = lists === undefined ? rounds : Math.min(rounds, POLISH_ROUNDS);
  const found = searchQueue(queue, starts, { rounds: budget, seed, stop, goal });
  const timing = createTimer(queue)(found.choice);
  const proven = compareScores(found.score, goal, 3) <= 0;
  // With more left behind than must be, or later than must be, an earlier finish than the goal's is possible.
  const asGood = compareScores(found.score, goal, 2) <= 0;
  const allIn = compareScores(found.score, goal, 1) <= 0;
  const finish = asGood ? bound.finish : allIn ? (exact?.finishIfLate ?? bound.finish) : undefined;
  return {
    choice: found.choice,
    timing,
    score: found.score,
    bound: { leftBehind: bound.leftBehind, late: bound.late, ...(finish === undefined ? {} : { finish }) },
    proven,
    rounds: found.rounds + (lists?.rounds ?? 0),
    ended: proven ? 'proven' : found.ended === 'stopped' ? 'time' : 'rounds',
  };
}

const POLISH_ROUNDS = 12;

function bestOf(queue: Queue, choices: readonly Choice[]): Choice {
  const time = createTimer(queue);
  let best = choices[0]!;
  let bestScore = Float64Array.from(time(best).score);
  for (const choice of choices.slice(1)) {
    const { score } = time(choice);
    if (compareScores(score, bestScore) >= 0) continue;
    best = choice;
    bestScore = Float64Array.from(score);
  }
  return best;
}
