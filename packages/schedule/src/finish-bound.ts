import { createCalendar, earliestBlock } from './earliest-block.ts';
import type { Queue } from './queue.ts';

/**
 * A lower bound of the finish when every job must be done, for queues too long for the exact programme: the largest of
 * - the job that ends last even when it comes first and alone,
 * - the load: weights λ on the machines, ∑λ = 1: finish ≥ ∑ λ·(begin) + ∑ over jobs of the least λ·(work + duration); the best
 *   weights by subgradient steps (Lagrangian dual of the assignment problem),
 * - the person: all attended work must lie in presence, and the shortest run still follows the last of it.
 */
export function finishBound(queue: Queue): number {
  if (queue.jobs.length === 0) return 0;
  const alone = aloneBound(queue);
  return Math.max(alone, loadBound(queue, alone), personBound(queue));
}

function aloneBound(queue: Queue): number {
  const calendar = createCalendar(queue.present);
  let bound = 0;
  for (const job of queue.jobs) {
    let least = Infinity;
    queue.machines.forEach((machine, k) => {
      const duration = job.durations[k]!;
      if (duration === Infinity) return;
      const pre = queue.startWork + (machine.unloadFirst ? queue.unload : 0);
      const from = Math.max(machine.availableFrom, job.release);
      const watch = Math.min(queue.watch, duration);
      least = Math.min(least, earliestBlock(calendar, machine, undefined, from, pre, watch, duration) + pre + duration);
    });
    if (least < Infinity) bound = Math.max(bound, least);
  }
  return bound;
}

const DUAL_STEPS = 300;

function loadBound(queue: Queue, start: number): number {
  const m = queue.machines.length;
  const load = queue.machines.map((machine, k) => {
    const changes = leastChanges(queue, k);
    return queue.jobs.map(
      (job, j) => job.durations[k]! + queue.startWork + queue.unload + machine.coolDown + changes.later[j]!,
    );
  });
  const firstPresent = queue.present[0]?.[0] ?? 0;
  // The first run of a machine has nothing to unload and may need no change; the last is not cooled before it ends.
  const begin = queue.machines.map((machine, k) => {
    const saved = machine.coolDown + (machine.unloadFirst ? 0 : queue.unload) + leastChanges(queue, k).savedByFirst;
    return Math.max(machine.availableFrom, firstPresent) - saved;
  });
  const idle = queue.machines.map((_, k) => createIdle(queue, k));
  let weights = new Array<number>(m).fill(1 / m);
  let best = start;
  for (let step = 1; step <= DUAL_STEPS; step++) {
    const loads = new Array<number>(m).fill(0);
    let shared = 0;
    for (let j = 0; j < queue.jobs.length; j++) {
      let least = Infinity;
      let at = -1;
      for (let k = 0; k < m; k++) {
        const cost = load[k]![j] === Infinity ? Infinity : weights[k]! * load[k]![j]!;
        if (cost < least) {
          least = cost;
          at = k;
        }
      }
      if (at < 0) continue;
      shared += least;
      loads[at] = loads[at]! + load[at]![j]!;
    }
    // From a bound that holds, the right side is a bound again, and larger, until it stays: each night that lies before it adds idle hours.
    for (let before = -1; before < best; ) {
      before = best;
      let dual = shared;
      // A machine that begins after the finish is not used, so its begin counts no more than the finish.
      for (let k = 0; k < m; k++) dual += weights[k]! * (begin[k]! < best ? begin[k]! + idle[k]!(best) : best);
      best = Math.max(best, dual);
    }
    const mean = loads.reduce((a, b) => a + b, 0) / m;
    const scale = 0.5 / (Math.max(1e-9, mean) * Math.sqrt(step) * m);
    weights = weights.map((w, k) => Math.max(0, w + scale * (loads[k]! + begin[k]! - mean)));
    const sum = weights.reduce((a, b) => a + b, 0) || 1;
    weights = weights.map((w) => w / sum);
  }
  // Times are whole numbers; the tolerance keeps rounding of the sum from lifting the bound by one.
  return Math.ceil(best - 1e-6);
}

/** For each job the least change before it when another job of the queue came before, and what the first run of a machine may save of it. */
function leastChanges(queue: Queue, k: number): { later: number[]; savedByFirst: number } {
  const machine = queue.machines[k]!;
  const counts = new Map<number, number>();
  for (const job of queue.jobs) counts.set(job.family, (counts.get(job.family) ?? 0) + 1);
  let savedByFirst = 0;
  const later = queue.jobs.map(({ family }) => {
    if (queue.stocks.length > 0) return 0;
    let least = Infinity;
    for (const [before, count] of counts) {
      if (before !== family || count > 1) least = Math.min(least, queue.change[k]![before]![family]!);
    }
    if (least === Infinity) least = 0;
    const first = machine.loaded < 0 ? 0 : queue.change[k]![machine.loaded]![family]!;
    savedByFirst = Math.max(savedByFirst, least - first);
    return least;
  });
  return { later, savedByFirst };
}

/**
 * Idle time that a machine cannot avoid before a finish: between two stretches of presence nothing starts, so only the run that
 * was watched before reaches into the gap. Runs too short to get through a gap and the stretch after it take one gap each,
 * the longest the longest; of the others all that they reach is granted.
 */
function createIdle(queue: Queue, k: number): (finish: number) => number {
  const machine = queue.machines[k]!;
  const gaps: { to: number; length: number }[] = [];
  let throughGap = Infinity;
  for (let i = 1; i < queue.present.length; i++) {
    const from = Math.max(queue.present[i - 1]![1], machine.availableFrom);
    const [to, stretchTo] = queue.present[i]!;
    if (to <= from) continue;
    gaps.push({ to, length: to - from });
    throughGap = Math.min(throughGap, stretchTo - from);
  }
  const reaches = queue.jobs
    .map((job) => job.durations[k]!)
    .filter((duration) => duration < Infinity)
    .map((duration) => (machine.unattended ? duration - Math.min(queue.watch, duration) : 0) + machine.coolDown)
    .sort((a, b) => b - a);
  const far = reaches.filter((reach) => reach > throughGap).reduce((sum, reach) => sum + reach, 0);
  const near = reaches.filter((reach) => reach <= throughGap);
  let knownUntil = -1;
  let known = 0;
  return (finish) => {
    const count = gaps.findIndex((gap) => gap.to > finish);
    const inside = count < 0 ? gaps.length : count;
    if (inside === knownUntil) return known;
    const lengths = gaps.slice(0, inside).map((gap) => gap.length);
    lengths.sort((a, b) => b - a);
    const left = lengths.reduce((sum, length, i) => sum + Math.max(0, length - (near[i] ?? 0)), 0);
    knownUntil = inside;
    known = Math.max(0, left - far);
    return known;
  };
}

function personBound(queue: Queue): number {
  if (queue.persons !== 'one') return 0;
  let work = 0;
  let shortestTail = Infinity;
  for (const job of queue.jobs) {
    const shortest = Math.min(...job.durations);
    if (shortest === Infinity) continue;
    const watch = Math.min(queue.watch, shortest);
    work += queue.startWork + watch + queue.unload;
    shortestTail = Math.min(shortestTail, shortest - watch);
  }
  work -= queue.unload * queue.machines.filter((machine) => !machine.unloadFirst).length;
  if (!(work > 0) || shortestTail === Infinity) return 0;
  for (const [from, to] of queue.present) {
    if (work <= to - from) return from + work + shortestTail;
    work -= to - from;
  }
  return Infinity;
}
