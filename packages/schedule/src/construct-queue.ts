import { type Choice, drawStarts, type Queue } from './queue.ts';
import { createTimer } from './time-choice.ts';

/**
 * First choices: list rules (due first, longest first, shortest first, by family, as given), each job put on the machine
 * where it ends first. `stockOf` is the packing that is known to be possible.
 */
export function constructChoices(queue: Queue, stockOf: Int32Array): Choice[] {
  const jobs = queue.jobs.map((_, j) => j);
  const shortest = queue.jobs.map((job) => Math.min(...job.durations));
  const dueOf = (j: number): number => queue.jobs[j]!.due;
  const byDue = (a: number, b: number): number => (dueOf(a) === dueOf(b) ? 0 : dueOf(a) - dueOf(b));
  const worthRate = (j: number): number => queue.jobs[j]!.worth / Math.max(1, shortest[j]!);
  const orders = [
    [...jobs].sort((a, b) => byDue(a, b) || worthRate(b) - worthRate(a) || shortest[b]! - shortest[a]! || a - b),
    [...jobs].sort((a, b) => shortest[b]! - shortest[a]! || a - b),
    [...jobs].sort((a, b) => shortest[a]! - shortest[b]! || a - b),
    [...jobs].sort((a, b) => queue.jobs[a]!.family - queue.jobs[b]!.family || shortest[b]! - shortest[a]! || a - b),
    jobs,
  ];
  return orders.map((order) => bestMachines(queue, order, stockOf));
}

function bestMachines(queue: Queue, order: readonly number[], stockOf: Int32Array): Choice {
  const sequence = Int32Array.from(order);
  const machineOf = new Int32Array(order.length);
  const draws = drawStarts(queue);
  // The timer runs over a queue cut to what is placed so far: a job that waits does not disturb the others.
  const placed: number[] = [];
  for (const j of order) {
    let best = -1;
    let bestEnd = Infinity;
    placed.push(j);
    const part = cutQueue(queue, placed);
    const time = createTimer(part);
    const partStock = Int32Array.from(placed.flatMap((p) => [...stockOf.subarray(draws[p]!, draws[p + 1]!)]));
    for (let k = 0; k < queue.machines.length; k++) {
      if (queue.jobs[j]!.durations[k] === Infinity) continue;
      if (best < 0) best = k;
      const partMachine = Int32Array.from(placed, (p) => (p === j ? k : machineOf[p]!));
      const choice = { sequence: Int32Array.from(placed, (_, q) => q), machineOf: partMachine, stockOf: partStock };
      const end = time(choice).end[placed.length - 1]!;
      if (end < bestEnd) {
        bestEnd = end;
        best = k;
      }
    }
    machineOf[j] = Math.max(0, best);
  }
  return { sequence, machineOf, stockOf: Int32Array.from(stockOf) };
}

function cutQueue(queue: Queue, jobs: readonly number[]): Queue {
  // Numbers of jobs mean others in a part of the queue; what must come after what is the timer's to see in the whole.
  return { ...queue, jobs: jobs.map((j) => ({ ...queue.jobs[j]!, after: [] })) };
}
