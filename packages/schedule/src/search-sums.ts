import { seededRandom } from '@stonehand/base';
import { type Choice, drawStarts, type Queue } from './queue.ts';
import { ENDLESS_ROUNDS, meanDuration, type SearchQueueOptions } from './search-queue.ts';

const MOVES_PER_ROUND = 20_000;
const ENDLESS_FIRST_HEAT = 60;

/** Somebody is always there, nothing is due or comes later: then a machine's end is a sum, and a move changes a few of its terms. */
export function isSums(queue: Queue): boolean {
  const [first] = queue.present;
  return (
    queue.persons === 'enough' &&
    queue.stocks.length === 0 &&
    queue.taken.length === 0 &&
    queue.machines.length > 1 &&
    queue.until === Infinity &&
    queue.measure === 'tardiness' &&
    queue.present.length === 1 &&
    first![0] <= 0 &&
    first![1] >= longest(queue) &&
    queue.machines.every(({ down }) => down.length === 0) &&
    queue.jobs.every(
      (job) => job.due === Infinity && job.release === 0 && job.keptStart === undefined && job.after === undefined,
    )
  );
}

function longest(queue: Queue): number {
  return queue.jobs.reduce((sum, { durations }) => sum + Math.max(0, ...durations.filter((d) => d < Infinity)), 0) * 4;
}

/**
 * Simulated annealing where ends are sums (see isSums): a job goes to the best place of another machine's list, or two jobs change
 * places. A move costs some twenty additions, where timing the lists anew costs a hundred and more.
 */
export function searchSums(
  queue: Queue,
  start: Choice,
  { rounds, seed, stop, goal }: SearchQueueOptions,
): { choice: Choice; rounds: number } {
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const random = seededRandom(seed);
  const mean = meanDuration(queue);
  const { cost, first, after } = tables(queue);
  const able = queue.jobs.map((job) => job.durations.flatMap((d, k) => (d < Infinity ? [k] : [])));
  const lists = Array.from({ length: m }, () => new Int32Array(n));
  const counts = new Int32Array(m);
  const machineOf = Int32Array.from(start.machineOf);
  for (const j of start.sequence) lists[machineOf[j]!]![counts[machineOf[j]!]!++] = j;
  // What stands between two jobs on machine k, or before the first; nothing stands after the last.
  const gap = (k: number, a: number, b: number): number =>
    b < 0 ? 0 : a < 0 ? first[k * n + b]! : after[(k * n + a) * n + b]!;
  const loads = Float64Array.from(lists, (list, k) => {
    let end = queue.machines[k]!.availableFrom;
    for (let p = 0; p < counts[k]!; p++) end += gap(k, p === 0 ? -1 : list[p - 1]!, list[p]!) + cost[k * n + list[p]!]!;
    return end;
  });
  let total = loads.reduce((a, b) => a + b, 0);
  const largestBut = (a: number, b: number): number => {
    let most = 0;
    for (let k = 0; k < m; k++) if (k !== a && k !== b && loads[k]! > most) most = loads[k]!;
    return most;
  };
  const best = lists.map((list) => Int32Array.from(list));
  const bestCounts = Int32Array.from(counts);
  let bestFinish = Math.max(...loads);
  let here = bestFinish + (ENDS_SHARE * total) / m;
  const keep = (): void => {
    const finish = Math.max(...loads);
    if (finish >= bestFinish) return;
    bestFinish = finish;
    for (let k = 0; k < m; k++) best[k]!.set(lists[k]!);
    bestCounts.set(counts);
  };
  let heatFrom = 0;
  let heatRounds = rounds >= ENDLESS_ROUNDS ? ENDLESS_FIRST_HEAT : Math.max(4, Math.ceil(rounds / 15));
  let used = 0;
  const reached = (): boolean => goal !== undefined && bestFinish <= goal[2]!;
  for (; used < rounds && !reached() && stop?.() !== true; used++) {
    if (used === heatFrom + heatRounds) {
      heatFrom = used;
      heatRounds *= 2;
    }
    for (let move = 0; move < MOVES_PER_ROUND; move++) {
      const temperature = HOT * mean * COLD ** ((used - heatFrom + move / MOVES_PER_ROUND) / heatRounds);
      let a = random.below(m);
      if (random.next() < 0.5) for (let k = 0; k < m; k++) if (loads[k]! > loads[a]!) a = k;
      const countA = counts[a]!;
      if (countA === 0) continue;
      const from = lists[a]!;
      const i = random.below(countA);
      const j = from[i]!;
      const before = i === 0 ? -1 : from[i - 1]!;
      const behind = i + 1 < countA ? from[i + 1]! : -1;
      const options = able[j]!;
      const b = options[random.below(options.length)]!;
      const list = lists[b]!;
      const countB = counts[b]!;
      if (a !== b && random.next() < SWAP_SHARE && countB > 0) {
        // Two jobs change places across machines.
        const q = random.below(countB);
        const other = list[q]!;
        if (cost[a * n + other]! === Infinity) continue;
        const beforeB = q === 0 ? -1 : list[q - 1]!;
        const behindB = q + 1 < countB ? list[q + 1]! : -1;
        const deltaA =
          gap(a, before, other) +
          gap(a, other, behind) +
          cost[a * n + other]! -
          gap(a, before, j) -
          gap(a, j, behind) -
          cost[a * n + j]!;
        const deltaB =
          gap(b, beforeB, j) +
          gap(b, j, behindB) +
          cost[b * n + j]! -
          gap(b, beforeB, other) -
          gap(b, other, behindB) -
          cost[b * n + other]!;
        const next = score(a, b, deltaA, deltaB);
        if (next > here && random.next() >= Math.exp((here - next) / temperature)) continue;
        from[i] = other;
        list[q] = j;
        accept(a, b, deltaA, deltaB, next);
        continue;
      }
      const taken = gap(a, before, behind) - gap(a, before, j) - gap(a, j, behind) - cost[a * n + j]!;
      // The cheapest place in the other list; in its own list, any other place.
      let at = -1;
      let least = Infinity;
      const length = a === b ? countA - 1 : countB;
      const item = (p: number): number => (p < 0 || p >= length ? -1 : a === b && p >= i ? from[p + 1]! : list[p]!);
      for (let p = 0; p <= length; p++) {
        if (a === b && p === i) continue;
        const left = item(p - 1);
        const right = item(p);
        const more = gap(b, left, j) + gap(b, j, right) - gap(b, left, right);
        if (more < least) {
          least = more;
          at = p;
        }
      }
      if (at < 0) continue;
      const deltaB = least + cost[b * n + j]!;
      const next = a === b ? score(a, a, taken + deltaB, 0) : score(a, b, taken, deltaB);
      if (next > here && random.next() >= Math.exp((here - next) / temperature)) continue;
      from.copyWithin(i, i + 1, countA);
      counts[a] = countA - 1;
      list.copyWithin(at + 1, at, counts[b]!);
      list[at] = j;
      counts[b] = counts[b]! + 1;
      if (a === b) accept(a, a, taken + deltaB, 0, next);
      else accept(a, b, taken, deltaB, next);
    }
  }
  return { choice: choiceOf(queue, best, bestCounts), rounds: used };

  function score(a: number, b: number, deltaA: number, deltaB: number): number {
    const endA = loads[a]! + deltaA;
    const endB = a === b ? endA : loads[b]! + deltaB;
    return Math.max(endA, endB, largestBut(a, b)) + (ENDS_SHARE * (total + deltaA + deltaB)) / m;
  }

  function accept(a: number, b: number, deltaA: number, deltaB: number, next: number): void {
    loads[a] = loads[a]! + deltaA;
    if (a !== b) loads[b] = loads[b]! + deltaB;
    total += deltaA + deltaB;
    here = next;
    keep();
  }
}

/** As for the walk over lists, see DECISIONS.md. */
const ENDS_SHARE = 3;
const HOT = 0.2;
const COLD = 0.005;
const SWAP_SHARE = 0.4;

/** By machine and job: its own seconds; what comes before it as the first; what comes before it after another. */
function tables(queue: Queue): { cost: Float64Array; first: Float64Array; after: Float64Array } {
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const cost = new Float64Array(m * n);
  const first = new Float64Array(m * n);
  const after = new Float64Array(m * n * n);
  queue.machines.forEach((machine, k) => {
    queue.jobs.forEach((job, j) => {
      cost[k * n + j] = job.durations[k]! + queue.startWork;
      const change = machine.loaded < 0 ? 0 : queue.change[k]![machine.loaded]![job.family]!;
      first[k * n + j] = change + (machine.unloadFirst ? queue.unload : 0);
      for (let i = 0; i < n; i++) {
        const between = queue.change[k]![queue.jobs[i]!.family]![job.family]!;
        after[(k * n + i) * n + j] = between + queue.unload + machine.coolDown;
      }
    });
  });
  return { cost, first, after };
}

/** Lists of machines → one order, round by round. */
function choiceOf(queue: Queue, lists: readonly Int32Array[], counts: Int32Array): Choice {
  const n = queue.jobs.length;
  const sequence: number[] = [];
  const machineOf = new Int32Array(n);
  for (let p = 0; p < n; p++) {
    lists.forEach((list, k) => {
      if (p >= counts[k]!) return;
      sequence.push(list[p]!);
      machineOf[list[p]!] = k;
    });
  }
  return { sequence: Int32Array.from(sequence), machineOf, stockOf: new Int32Array(drawStarts(queue)[n]!).fill(-1) };
}
