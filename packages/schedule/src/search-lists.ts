import { seededRandom } from '@stonehand/base';
import { createCalendar, earliestBlock } from './earliest-block.ts';
import { type Choice, drawStarts, type Queue } from './queue.ts';
import { ENDLESS_ROUNDS, meanDuration, type SearchQueueOptions } from './search-queue.ts';

const MOVES_PER_ROUND = 4000;
/** As for the walk over orders, heats double; a budget that is known holds four of them. */
const ENDLESS_FIRST_HEAT = 40;

/**
 * Simulated annealing for machines that do not touch each other (enough persons, no spools): one list of jobs a machine, and a move
 * times only the one or two lists that it changes. On 100 jobs and 10 machines that is some thirty times as many moves
 * a second as timing the whole queue. Looks at left behind, late and finish only.
 */
export function searchLists(
  queue: Queue,
  start: Choice,
  options: SearchQueueOptions,
): { choice: Choice; rounds: number } {
  const { rounds, seed, stop, goal } = options;
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const random = seededRandom(seed);
  const timeList = createListTimer(queue);
  const able = queue.jobs.map((job) => job.durations.flatMap((d, k) => (d < Infinity ? [k] : [])));
  const lists = Array.from({ length: m }, () => new Int32Array(n + 1));
  const counts = new Int32Array(m);
  for (const j of start.sequence) {
    const k = start.machineOf[j]!;
    lists[k]![counts[k]!] = j;
    counts[k] = counts[k]! + 1;
  }
  // Per machine: left behind, late, end.
  const parts = new Float64Array(3 * m);
  for (let k = 0; k < m; k++) timeList(k, lists[k]!, counts[k]!, parts);
  const mean = meanDuration(queue);
  const perWorth =
    (3 * mean * n) /
    Math.max(
      1e-9,
      queue.jobs.reduce((sum, job) => sum + job.worth, 0),
    );
  const lateness = queue.measure === 'lateness';
  const summed = (at: Float64Array): { left: number; late: number; finish: number; cost: number } => {
    let left = 0;
    let late = lateness ? -Infinity : 0;
    let finish = 0;
    let ends = 0;
    for (let k = 0; k < m; k++) {
      left += at[3 * k]!;
      if (lateness) late = Math.max(late, at[3 * k + 1]!);
      else late += at[3 * k + 1]!;
      finish = Math.max(finish, at[3 * k + 2]!);
      ends += at[3 * k + 2]!;
    }
    const driven = lateness ? (late === -Infinity ? 0 : late) + 0.05 * finish : 3 * late + finish;
    return { left, late, finish, cost: perWorth * left + driven + ENDS_SHARE * (ends / m) };
  };
  const best = lists.map((list) => Int32Array.from(list));
  const bestCounts = Int32Array.from(counts);
  const bestParts = Float64Array.from(parts);
  let bestSum = summed(parts);
  let here = bestSum.cost;
  const better = (a: typeof bestSum, b: typeof bestSum): boolean =>
    a.left < b.left - 1e-9 ||
    (a.left <= b.left + 1e-9 && (a.late < b.late || (a.late === b.late && a.finish < b.finish)));
  const trialA = new Int32Array(n + 1);
  const trialB = new Int32Array(n + 1);
  const trialParts = new Float64Array(3 * m);
  const reached = (): boolean =>
    goal !== undefined && bestSum.left <= goal[0]! + 1e-9 && bestSum.late <= goal[1]! && bestSum.finish <= goal[2]!;
  let heatFrom = 0;
  let heatRounds = rounds >= ENDLESS_ROUNDS ? ENDLESS_FIRST_HEAT : Math.max(4, Math.ceil(rounds / 15));
  let used = 0;
  for (; used < rounds && !reached() && stop?.() !== true; used++) {
    if (used === heatFrom + heatRounds) {
      heatFrom = used;
      heatRounds *= 2;
      for (let k = 0; k < m; k++) lists[k]!.set(best[k]!);
      counts.set(bestCounts);
      parts.set(bestParts);
      here = bestSum.cost;
    }
    for (let move = 0; move < MOVES_PER_ROUND; move++) {
      const share = (used - heatFrom + move / MOVES_PER_ROUND) / heatRounds;
      const temperature = HOT * mean * COLD ** share;
      // Half of the moves touch the machine that ends last.
      let a = random.below(m);
      if (random.next() < 0.5) for (let k = 0; k < m; k++) if (parts[3 * k + 2]! > parts[3 * a + 2]!) a = k;
      if (counts[a] === 0) continue;
      const i = random.below(counts[a]!);
      const job = lists[a]![i]!;
      const options = able[job]!;
      const b = options[random.below(options.length)]!;
      trialParts.set(parts);
      let countA = counts[a]!;
      let countB = counts[b]!;
      if (a === b) {
        if (countA < 2) continue;
        copyList(trialA, lists[a]!, countA);
        const to = random.below(countA);
        if (random.next() < 0.5) {
          trialA[i] = trialA[to]!;
          trialA[to] = job;
        } else if (i < to) trialA.copyWithin(i, i + 1, to + 1).fill(job, to, to + 1);
        else trialA.copyWithin(to + 1, to, i).fill(job, to, to + 1);
        timeList(a, trialA, countA, trialParts);
      } else {
        copyList(trialA, lists[a]!, countA);
        copyList(trialB, lists[b]!, countB);
        const q = random.below(countB + 1);
        const other = q < countB ? trialB[q]! : -1;
        if (other >= 0 && random.next() < 0.5 && queue.jobs[other]!.durations[a]! < Infinity) {
          trialA[i] = other;
          trialB[q] = job;
        } else {
          trialA.copyWithin(i, i + 1, countA);
          trialB.copyWithin(q + 1, q, countB);
          trialB[q] = job;
          countA--;
          countB++;
        }
        timeList(a, trialA, countA, trialParts);
        timeList(b, trialB, countB, trialParts);
      }
      const sum = summed(trialParts);
      if (sum.cost > here && random.next() >= Math.exp((here - sum.cost) / temperature)) continue;
      here = sum.cost;
      copyList(lists[a]!, trialA, countA);
      counts[a] = countA;
      if (a !== b) {
        copyList(lists[b]!, trialB, countB);
        counts[b] = countB;
      }
      parts.set(trialParts);
      if (better(sum, bestSum)) {
        bestSum = sum;
        for (let k = 0; k < m; k++) best[k]!.set(lists[k]!);
        bestCounts.set(counts);
        bestParts.set(parts);
      }
    }
  }
  return { choice: choiceOf(queue, best, bestCounts), rounds: used };
}

/** Found on I_50_10 and I_100_10 of Vallada & Ruiz, see DECISIONS.md. */
const ENDS_SHARE = 3;
const HOT = 0.2;
const COLD = 0.005;

function copyList(to: Int32Array, from: Int32Array, count: number): void {
  for (let p = 0; p < count; p++) to[p] = from[p]!;
}

/** Fills left behind, late and end of machine k for a list of jobs. */
function createListTimer(queue: Queue): (k: number, list: Int32Array, count: number, parts: Float64Array) => void {
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const calendar = createCalendar(queue.present);
  const durations = new Float64Array(m * n);
  queue.jobs.forEach((job, j) => {
    job.durations.forEach((duration, k) => {
      durations[k * n + j] = duration;
    });
  });
  const family = Int32Array.from(queue.jobs, (job) => job.family);
  const release = Float64Array.from(queue.jobs, (job) => job.release);
  const due = Float64Array.from(queue.jobs, (job) => job.due);
  const weight = Float64Array.from(queue.jobs, (job) => job.weight);
  const worth = Float64Array.from(queue.jobs, (job) => job.worth);
  const change = queue.change.map((rows) => rows.map((row) => Float64Array.from(row)));
  const lateness = queue.measure === 'lateness';
  return (k, list, count, parts) => {
    const machine = queue.machines[k]!;
    const changes = change[k]!;
    let before = machine.loaded;
    let ready = machine.availableFrom;
    let unload = machine.unloadFirst;
    let left = 0;
    let late = lateness ? -Infinity : 0;
    let last = 0;
    for (let p = 0; p < count; p++) {
      const j = list[p]!;
      const duration = durations[k * n + j]!;
      const pre = queue.startWork + (before >= 0 ? changes[before]![family[j]!]! : 0) + (unload ? queue.unload : 0);
      const from = Math.max(ready, release[j]!);
      const watch = Math.min(queue.watch, duration);
      const end =
        duration < Infinity
          ? earliestBlock(calendar, machine, undefined, from, pre, watch, duration) + pre + duration
          : Infinity;
      if (!(end <= queue.until) || end === Infinity) {
        left += worth[j]!;
        continue;
      }
      const over = end - due[j]!;
      if (lateness) late = Math.max(late, over);
      else if (over > 0) late += weight[j]! * over;
      last = end;
      ready = end + machine.coolDown;
      before = family[j]!;
      unload = true;
    }
    parts[3 * k] = left;
    parts[3 * k + 1] = late;
    parts[3 * k + 2] = last;
  };
}

/** Lists of machines → one order. Any merge will do where machines do not touch; round by round keeps starts near each other. */
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
