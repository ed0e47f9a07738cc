import { type Random, seededRandom } from '@stonehand/base';
import { type Choice, compareScores, drawStarts, type Queue, type Score } from './queue.ts';
import { createTimer, type Timing } from './time-choice.ts';

export interface SearchQueueOptions {
  readonly rounds: number;
  readonly seed: number;
  /** asked after every round; true ends the search with the best so far */
  readonly stop?: (() => boolean) | undefined;
  /** nothing better than this finish can exist (with nothing left behind and late): ends the search when reached */
  readonly goal?: Score | undefined;
  readonly goalParts?: number;
}

export interface SearchQueueResult {
  readonly choice: Choice;
  readonly score: Score;
  readonly rounds: number;
  readonly ended: 'goal' | 'rounds' | 'stopped';
}

const MOVES_PER_ROUND = 400;
/**
 * Heats: the walk cools down, then begins anew from the best, hot again, for twice as many rounds. A budget that is known
 * holds three of them (1 : 2 : 4), an endless one as many as there is time for.
 */
const ENDLESS_FIRST_HEAT = 40;
export const ENDLESS_ROUNDS = 1e6;
/** First temperature over the mean duration, and last over first; see DECISIONS.md. */
const HOT = 0.1;
const COLD = 0.01;
const STRICT = 20;
const FLOW_SHARE = 0.1;
const LAST_MACHINE_SHARE = 0.3;

/**
 * Simulated annealing over order, machine and stocks, from the better of the given and the constructed choices.
 * Deterministic for a seed and a number of rounds.
 */
export function searchQueue(
  queue: Queue,
  starts: readonly Choice[],
  { rounds, seed, stop, goal, goalParts = 3 }: SearchQueueOptions,
): SearchQueueResult {
  const random = seededRandom(seed);
  const time = createTimer(queue);
  const soft = scalar(queue, 1);
  const strict = scalar(queue, STRICT);
  let weigh = soft;
  let best = copyChoice(starts[0]!);
  const bestScore = Float64Array.from(time(best).score);
  for (const start of starts.slice(1)) {
    const { score } = time(start);
    if (compareScores(score, bestScore) < 0) {
      bestScore.set(score);
      best = copyChoice(start);
    }
  }
  const done = (): boolean => goal !== undefined && compareScores(bestScore, goal, goalParts) <= 0;
  const n = queue.jobs.length;
  if (n === 0) return { choice: best, score: bestScore, rounds: 0, ended: 'goal' };
  const here = copyChoice(best);
  const back = copyChoice(best);
  const moves = createMoves(queue, random);
  const hot = HOT * meanDuration(queue);
  let lastMachine = 0;
  let hereCost = weigh(bestScore);
  let heatFrom = 0;
  let heatRounds = rounds >= ENDLESS_ROUNDS ? ENDLESS_FIRST_HEAT : Math.max(4, Math.ceil(rounds / 7));
  let used = 0;
  for (; used < rounds; used++) {
    // Once nothing is left behind and the finish is proven, the rest of the budget goes to fewer visits and changes.
    if (done() && used >= Math.min(rounds, POLISH_ROUNDS))
      return { choice: best, score: bestScore, rounds: used, ended: 'goal' };
    if (stop?.() === true) return { choice: best, score: bestScore, rounds: used, ended: 'stopped' };
    if (used === heatFrom + heatRounds) {
      heatFrom = used;
      heatRounds *= 2;
      // Every other heat keeps closer to the order of the score: an hour less late is worth many of the finish.
      weigh = weigh === soft ? strict : soft;
      assign(here, best);
      hereCost = weigh(bestScore);
    }
    for (let move = 0; move < MOVES_PER_ROUND; move++) {
      const share = (used - heatFrom + move / MOVES_PER_ROUND) / heatRounds;
      const temperature = hot * COLD ** share;
      assign(back, here);
      moves(here, lastMachine);
      const timing = time(here);
      const { score } = timing;
      const cost = weigh(score);
      if (cost <= hereCost || random.next() < Math.exp((hereCost - cost) / temperature)) {
        hereCost = cost;
        lastMachine = machineOfLast(timing);
        if (compareScores(score, bestScore) < 0) {
          bestScore.set(score);
          assign(best, here);
        }
      } else assign(here, back);
    }
  }
  return { choice: best, score: bestScore, rounds: used, ended: done() ? 'goal' : 'rounds' };
}

const POLISH_ROUNDS = 12;

function machineOfLast({ lastOf, end }: Timing): number {
  let last = 0;
  let latest = -1;
  for (let k = 0; k < lastOf.length; k++) {
    if (lastOf[k]! < 0 || end[lastOf[k]!]! <= latest) continue;
    last = k;
    latest = end[lastOf[k]!]!;
  }
  return last;
}

/** One number to walk by; the best is kept by the true order of comparison, so the weights only guide. */
function scalar(queue: Queue, strictness: number): (score: Score) => number {
  const n = Math.max(1, queue.jobs.length);
  const mean = meanDuration(queue);
  const worths = queue.jobs.map((job) => job.worth);
  const worth = Math.max(1e-9, worths.reduce((a, b) => a + b, 0) / n);
  const perWorth = (3 * strictness * mean) / worth;
  const lateWeight = (queue.measure === 'lateness' ? 1 : 3) * strictness;
  const finishWeight = queue.measure === 'lateness' ? 0.05 : 1;
  return (score) => {
    const late = score[1]! === -Infinity ? 0 : score[1]!;
    const soft = FLOW_SHARE * (score[5]! / n) + 0.002 * mean * (score[3]! + score[4]!);
    return perWorth * score[0]! + lateWeight * late + finishWeight * score[2]! + soft;
  };
}

export function meanDuration(queue: Queue): number {
  let sum = 0;
  let count = 0;
  for (const job of queue.jobs) {
    for (const duration of job.durations) {
      if (duration === Infinity) continue;
      sum += duration;
      count++;
    }
  }
  return count === 0 ? 1 : Math.max(1e-9, sum / count);
}

export function copyChoice(choice: Choice): Choice {
  return {
    sequence: Int32Array.from(choice.sequence),
    machineOf: Int32Array.from(choice.machineOf),
    stockOf: Int32Array.from(choice.stockOf),
  };
}

function assign(to: Choice, from: Choice): void {
  to.sequence.set(from.sequence);
  to.machineOf.set(from.machineOf);
  to.stockOf.set(from.stockOf);
}

function createMoves(queue: Queue, random: Random): (choice: Choice, lastMachine: number) => void {
  const n = queue.jobs.length;
  const able = queue.jobs.map((job) => job.durations.flatMap((d, k) => (d < Infinity ? [k] : [])));
  const draws = drawStarts(queue);
  const drawCount = draws[n]!;
  const ownerOf = new Int32Array(drawCount);
  for (let j = 0; j < n; j++) ownerOf.fill(j, draws[j]!, draws[j + 1]!);
  const stocksOfKind = new Map<number, number[]>();
  queue.stocks.forEach((stock, s) => {
    const list = stocksOfKind.get(stock.kind);
    if (list === undefined) stocksOfKind.set(stock.kind, [s]);
    else list.push(s);
  });
  const amountOf = (d: number): number => queue.jobs[ownerOf[d]!]!.draws[d - draws[ownerOf[d]!]!]!.amount;
  const kindOf = (d: number): number => queue.jobs[ownerOf[d]!]!.draws[d - draws[ownerOf[d]!]!]!.kind;
  const drawn = (choice: Choice, s: number): number => {
    let sum = 0;
    for (let d = 0; d < drawCount; d++) if (choice.stockOf[d] === s) sum += amountOf(d);
    return sum;
  };
  const shift = ({ sequence }: Choice, from: number, to: number): void => {
    const job = sequence[from]!;
    if (from < to) sequence.copyWithin(from, from + 1, to + 1);
    else sequence.copyWithin(to + 1, to, from);
    sequence[to] = job;
  };
  const changeMachine = (choice: Choice, j: number): void => {
    const list = able[j]!;
    if (list.length > 1) choice.machineOf[j] = list[random.below(list.length)]!;
  };
  const keepsStock = (d: number): boolean => queue.jobs[ownerOf[d]!]!.keptStart !== undefined;
  const changeStock = (choice: Choice): void => {
    const d = random.below(drawCount);
    if (keepsStock(d)) return;
    const list = stocksOfKind.get(kindOf(d)) ?? [];
    if (list.length < 2) return;
    const s = list[random.below(list.length)]!;
    const before = choice.stockOf[d]!;
    if (s === before) return;
    const room = queue.stocks[s]!.amount - drawn(choice, s);
    if (room >= amountOf(d)) choice.stockOf[d] = s;
    else if (before >= 0) {
      // Exchange with one of those that are on it.
      const others = [];
      for (let e = 0; e < drawCount; e++) if (choice.stockOf[e] === s && !keepsStock(e)) others.push(e);
      if (others.length === 0) return;
      const e = others[random.below(others.length)]!;
      const roomBefore = queue.stocks[before]!.amount - drawn(choice, before);
      if (room + amountOf(e) >= amountOf(d) && roomBefore + amountOf(d) >= amountOf(e)) {
        choice.stockOf[d] = s;
        choice.stockOf[e] = before;
      }
    }
  };
  const single = queue.machines.length === 1;
  return (choice, lastMachine) => {
    const r = random.next();
    if (drawCount > 0 && queue.stocks.length > 1 && r < 0.2) {
      changeStock(choice);
      if (random.next() < 0.5) return;
    }
    let a = random.below(n);
    // Often a job of the machine that ends last: moving any other cannot bring the finish forward at once.
    if (random.next() < LAST_MACHINE_SHARE) {
      for (let tries = 0; tries < 8 && choice.machineOf[choice.sequence[a]!] !== lastMachine; tries++)
        a = random.below(n);
    }
    if (r < 0.55) {
      shift(choice, a, random.below(n));
      if (!single && random.next() < 0.6) changeMachine(choice, choice.sequence[a]!);
    } else if (r < 0.75) {
      const b = random.below(n);
      const { sequence, machineOf } = choice;
      const x = sequence[a]!;
      const y = sequence[b]!;
      sequence[a] = y;
      sequence[b] = x;
      const mx = machineOf[x]!;
      const my = machineOf[y]!;
      if (mx !== my && queue.jobs[x]!.durations[my]! < Infinity && queue.jobs[y]!.durations[mx]! < Infinity) {
        machineOf[x] = my;
        machineOf[y] = mx;
      }
    } else if (!single && r < 0.9) changeMachine(choice, choice.sequence[a]!);
    else {
      const to = Math.max(0, Math.min(n - 1, a + random.below(5) - 2));
      shift(choice, a, to);
    }
  };
}
