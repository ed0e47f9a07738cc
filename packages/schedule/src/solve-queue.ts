import { constructChoices } from './construct-queue.ts';
import { enumerateQueue } from './enumerate-queue.ts';
import { exactQueue } from './exact-queue.ts';
import { finishBound } from './finish-bound.ts';
import { proveOnePerson } from './prove-one-person.ts';
import { type Choice, compareScores, drawStarts, type Queue, type Score } from './queue.ts';
import { searchLists } from './search-lists.ts';
import { copyChoice, searchQueue } from './search-queue.ts';
import { isSums, searchSums } from './search-sums.ts';
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
  /** left behind, late, finish, visits, changes, sum of ends: compared in this order */
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
  // For the exact programme on lateness: a good one first. It costs little beside the tables.
  const first =
    queue.measure === 'lateness' ? searchLists(queue, bestOf(queue, starts), { rounds: 60, seed, stop }) : undefined;
  if (first !== undefined) starts.unshift({ ...first.choice, stockOf });
  const lateness = first === undefined ? Infinity : latenessOf(queue, first.choice);
  const exact = exactQueue(queue, { limit: exactJobs, lateness });
  if (exact !== undefined) {
    const choice = copyChoice(exact.choice);
    choice.stockOf.set(stockOf);
    starts.unshift(choice);
  }
  const every = enumerateQueue(queue, stockOf);
  if (every !== undefined) starts.unshift(every.choice);
  const bound = exact ?? {
    leftBehind: 0,
    late: queue.measure === 'tardiness' ? 0 : -Infinity,
    finish: finishBound(queue),
  };
  // Without stocks to choose, all orders and machines are all there is: the bound is the best of them.
  const whole = every !== undefined && queue.stocks.length === 0;
  const goal = whole
    ? Float64Array.from(every.score)
    : Float64Array.of(bound.leftBehind, bound.late, bound.finish, 0, 0, 0);
  // Runs that are kept, and pauses, are known to the timer alone.
  const anyKept = queue.jobs.some((job) => isForTimer(job));
  const apart = !anyKept && queue.persons === 'enough' && queue.stocks.length === 0 && queue.machines.length > 1;
  const searchApart = isSums(queue) ? searchSums : searchLists;
  const lists = apart ? searchApart(queue, bestOf(queue, starts), { rounds, seed, stop, goal }) : undefined;
  if (lists !== undefined) starts.unshift(lists.choice);
  // What the lists leave to do is fewer visits and changes, a short walk.
  const budget = lists === undefined ? rounds : Math.min(rounds, POLISH_ROUNDS);
  const firstRounds = Math.min(budget, FIRST_ROUNDS);
  let found = searchQueue(queue, starts, { rounds: firstRounds, seed, stop, goal });
  let used = found.rounds + (lists?.rounds ?? 0);
  const most = { jobs: exactJobs - 2, nodes: Math.min(rounds, 2000) * NODES_PER_ROUND, stop };
  const closed = closeGap(queue, found, goal, most);
  goal[2] = Math.max(goal[2]!, closed.bound);
  const next = [closed.choice, found.choice].map((choice) => ({ ...choice, stockOf: found.choice.stockOf }));
  if (found.ended !== 'stopped' && compareScores(found.score, goal, 3) > 0) {
    // The complete search has found better, or spools keep its answer from being one: from there on.
    const left = Math.max(POLISH_ROUNDS, budget - firstRounds);
    found = searchQueue(queue, next, { rounds: left, seed: seed + 1, stop, goal });
    used += found.rounds;
  }
  const timing = createTimer(queue)(found.choice);
  const score = Float64Array.from(timing.score);
  const proven = compareScores(score, goal, 3) <= 0;
  // With more left behind than must be, or later than must be, an earlier finish than the goal's is possible.
  const asGood = compareScores(score, goal, 2) <= 0;
  const allIn = compareScores(score, goal, 1) <= 0;
  const finish = asGood ? goal[2]! : allIn ? (exact?.finishIfLate ?? bound.finish) : undefined;
  return {
    choice: found.choice,
    timing,
    score,
    bound: { leftBehind: goal[0]!, late: goal[1]!, ...(finish === undefined ? {} : { finish }) },
    proven,
    rounds: used,
    ended: proven ? 'proven' : found.ended === 'stopped' ? 'time' : 'rounds',
  };
}

const POLISH_ROUNDS = 12;
/** The complete search comes after so many rounds: it begins from a good finish, and what it leaves open is searched on. */
const FIRST_ROUNDS = 300;
const NODES_PER_ROUND = 500;

/**
 * Where the one-person rule may be what keeps the answer from its bound: the complete search (without spools), from the best
 * finish down until nothing better exists, or the nodes are used up. Only with nothing left behind and nothing late.
 */
function closeGap(
  queue: Queue,
  found: Readonly<{ choice: Choice; score: Score }>,
  goal: Score,
  most: { readonly jobs: number; readonly nodes: number; readonly stop: (() => boolean) | undefined },
): { choice: Choice; bound: number } {
  const none = { choice: found.choice, bound: goal[2]! };
  if (queue.persons !== 'one' || queue.taken.length > 0 || queue.jobs.length > most.jobs) return none;
  if (queue.measure !== 'tardiness' || found.score[0]! > 0 || found.score[1]! > 0) return none;
  const loosened: Queue = { ...queue, stocks: [], jobs: queue.jobs.map((job) => ({ ...job, draws: [] })) };
  const time = createTimer(loosened);
  let { choice } = found;
  let finish = found.score[2]!;
  while (finish > goal[2]!) {
    const proof = proveOnePerson(loosened, { by: finish - 1, nodes: most.nodes, stop: most.stop });
    if (proof.found === 'nothing better') return { choice, bound: finish };
    if (proof.found === 'gave up') return { choice, bound: goal[2]! };
    // Kept runs are not known to the complete search: what it found may end no earlier with them.
    const { score } = time(proof.choice);
    if (score[0]! > 0 || score[2]! >= finish) return { choice, bound: goal[2]! };
    choice = proof.choice;
    finish = score[2]!;
  }
  return { choice, bound: finish };
}

function isForTimer({ keptStart, pauses, after }: Queue['jobs'][number]): boolean {
  return keptStart !== undefined || pauses !== undefined || after !== undefined;
}

/** Without the one-person rule; Infinity when the choice leaves jobs behind. */
function latenessOf(queue: Queue, choice: Choice): number {
  const { score } = createTimer({ ...queue, persons: 'enough' })(choice);
  return score[0]! > 0 ? Infinity : score[1]!;
}

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
