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

function leastChange(queue: Queue, k: number, family: number): number {
  let least = Infinity;
  for (const row of queue.change[k]!) least = Math.min(least, row[family]!);
  return least === Infinity ? 0 : least;
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
  const firstPresent = queue.present[0]?.[0] ?? 0;
  const load = queue.jobs.map((job) =>
    job.durations.map((duration, k) =>
      duration === Infinity
        ? Infinity
        : duration +
          queue.startWork +
          queue.unload +
          queue.machines[k]!.coolDown +
          (queue.stocks.length > 0
            ? 0
            : Math.min(leastChange(queue, k, job.family), firstOrChange(queue, k, job.family))),
    ),
  );
  // The first run of a machine has nothing to unload, the last no cooling before it ends.
  const begin = queue.machines.map(
    (machine) =>
      Math.max(machine.availableFrom, firstPresent) - machine.coolDown - (machine.unloadFirst ? 0 : queue.unload),
  );
  let weights = new Array<number>(m).fill(1 / m);
  let best = start;
  for (let step = 1; step <= DUAL_STEPS; step++) {
    const loads = new Array<number>(m).fill(0);
    let dual = 0;
    for (const row of load) {
      let least = Infinity;
      let at = -1;
      for (let k = 0; k < m; k++) {
        const cost = row[k] === Infinity ? Infinity : weights[k]! * row[k]!;
        if (cost < least) {
          least = cost;
          at = k;
        }
      }
      if (at < 0) continue;
      dual += least;
      loads[at] = loads[at]! + row[at]!;
    }
    // A machine that begins after the finish is not used, so its begin counts no more than the finish.
    for (let k = 0; k < m; k++) dual += weights[k]! * Math.min(begin[k]!, best);
    best = Math.max(best, dual);
    const mean = loads.reduce((a, b) => a + b, 0) / m;
    const scale = 0.5 / (Math.max(1e-9, mean) * Math.sqrt(step) * m);
    weights = weights.map((w, k) => Math.max(0, w + scale * (loads[k]! + begin[k]! - mean)));
    const sum = weights.reduce((a, b) => a + b, 0) || 1;
    weights = weights.map((w) => w / sum);
  }
  // Times are whole numbers; the tolerance keeps rounding of the sum from lifting the bound by one.
  return Math.ceil(best - 1e-6);
}

/** The first run of a machine changes from what is loaded, which may cost nothing. */
function firstOrChange(queue: Queue, k: number, family: number): number {
  const loaded = queue.machines[k]!.loaded;
  return loaded < 0 ? 0 : queue.change[k]![loaded]![family]!;
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
