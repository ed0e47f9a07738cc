import { type Calendar, createCalendar, createTaken, earliestBlock, type Taken, take } from './earliest-block.ts';
import { type Choice, drawStarts, keptJobs, type Queue, type Score } from './queue.ts';

/** The times that follow from a choice; Infinity where a job waits. Overwritten by the next call of the timer. */
export interface Timing {
  readonly blockFrom: Float64Array;
  readonly start: Float64Array;
  readonly watchedUntil: Float64Array;
  readonly end: Float64Array;
  /** when what lay on the plate before is off: the first part of the block */
  readonly score: Score;
  readonly taken: Taken;
  /** last job of each machine, −1 if none */
  readonly lastOf: Int32Array;
}

/**
 * Turns choices into times: each run as early as the rules allow, in the order of the sequence, filling gaps in the
 * person's time that are still free. Every schedule that cannot be moved to the left is reached by some order (blocks in
 * the order of their begin), so an optimum for any measure that grows with the end times is among them.
 */
export function createTimer(queue: Queue): (choice: Choice) => Timing {
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const calendar: Calendar = createCalendar(queue.present);
  const draws = drawStarts(queue);
  const timing: Timing = {
    blockFrom: new Float64Array(n),
    start: new Float64Array(n),
    watchedUntil: new Float64Array(n),
    end: new Float64Array(n),
    score: new Float64Array(6),
    taken: createTaken(n + m + queue.taken.length + pausesIn(queue) + 1),
    lastOf: new Int32Array(m),
  };
  const ready = new Float64Array(m);
  const family = new Int32Array(m);
  const onPlate = new Uint8Array(m);
  const stockFree = new Float64Array(queue.stocks.length);
  const stockOn = new Int32Array(queue.stocks.length);
  const stockLeft = new Float64Array(queue.stocks.length);
  const single = queue.persons === 'one';
  const kept = keptJobs(queue);
  const order = new Int32Array(n);

  const reset = (): void => {
    timing.taken.count = 0;
    // A job that must come after one that is not timed yet waits.
    timing.end.fill(Infinity);
    for (const [from, to] of queue.taken) take(timing.taken, from, to);
    for (let s = 0; s < stockFree.length; s++) stockFree[s] = queue.stocks[s]!.freeFrom ?? 0;
    stockOn.fill(-1);
    for (let s = 0; s < stockLeft.length; s++) stockLeft[s] = queue.stocks[s]!.amount;
    for (let k = 0; k < m; k++) {
      const machine = queue.machines[k]!;
      ready[k] = machine.availableFrom;
      family[k] = machine.loaded;
      onPlate[k] = machine.unloadFirst ? 1 : 0;
      timing.lastOf[k] = -1;
      for (const s of machine.stocks) {
        stockOn[s] = k;
        if (machine.unloadFirst) stockFree[s] = Math.max(stockFree[s]!, machine.availableFrom - machine.coolDown);
      }
    }
    timing.score.fill(0);
    if (queue.measure === 'lateness') timing.score[1] = -Infinity;
  };

  return ({ sequence, machineOf, stockOf }) => {
    reset();
    const { score } = timing;
    let placed = 0;
    for (const j of kept) order[placed++] = j;
    for (let q = 0; q < n; q++) if (queue.jobs[sequence[q]!]!.keptStart === undefined) order[placed++] = sequence[q]!;
    for (let q = 0; q < n; q++) {
      const j = order[q]!;
      const k = machineOf[j]!;
      const job = queue.jobs[j]!;
      const machine = queue.machines[k]!;
      const duration = job.durations[k]!;
      let from = Math.max(ready[k]!, job.release);
      let swaps = 0;
      let supplied = true;
      for (let d = draws[j]!; d < draws[j + 1]!; d++) {
        const s = stockOf[d]!;
        if (s < 0 || stockLeft[s]! < job.draws[d - draws[j]!]!.amount) {
          supplied = false;
          break;
        }
        if (stockFree[s]! > from) from = stockFree[s]!;
        if (stockOn[s] !== k) swaps++;
      }
      const byFamily = family[k]! >= 0 ? queue.change[k]![family[k]!]![job.family]! : 0;
      const change = queue.stocks.length > 0 ? swaps * machine.stockChange : byFamily;
      const pre = queue.startWork + change + (onPlate[k] === 1 ? queue.unload : 0);
      const watch = Math.min(queue.watch, duration);
      if (job.after !== undefined)
        for (const before of job.after) from = Math.max(from, timing.end[before]! + queue.unload);
      if (job.keptStart !== undefined) from = Math.max(from, job.keptStart - pre);
      const block =
        supplied && duration < Infinity && from < Infinity
          ? earliestBlock(
              calendar,
              machine,
              single ? timing.taken : undefined,
              from,
              pre,
              watch,
              duration,
              job.pauses?.[k],
              queue.pauseWork,
            )
          : Infinity;
      const end = block + pre + duration;
      if (!(end <= queue.until) || block === Infinity) {
        timing.blockFrom[j] = timing.start[j] = timing.watchedUntil[j] = timing.end[j] = Infinity;
        score[0] = score[0]! + job.worth;
        continue;
      }
      timing.blockFrom[j] = block;
      timing.start[j] = block + pre;
      timing.watchedUntil[j] = block + pre + watch;
      timing.end[j] = end;
      take(timing.taken, block, block + pre + watch);
      for (const pause of job.pauses?.[k] ?? [])
        take(timing.taken, block + pre + pause, block + pre + pause + (queue.pauseWork ?? 0));
      for (let d = draws[j]!; d < draws[j + 1]!; d++) {
        const s = stockOf[d]!;
        stockFree[s] = end;
        stockOn[s] = k;
        stockLeft[s] = stockLeft[s]! - job.draws[d - draws[j]!]!.amount;
      }
      if (draws[j + 1]! > draws[j]!) leaveOnly(stockOn, k, stockOf, draws[j]!, draws[j + 1]!);
      ready[k] = end + machine.coolDown;
      family[k] = job.family;
      onPlate[k] = 1;
      timing.lastOf[k] = j;
      const late = end - job.due;
      if (queue.measure === 'lateness') {
        if (late > score[1]!) score[1] = late;
      } else if (late > 0) score[1] = score[1]! + job.weight * late;
      if (end > score[2]!) score[2] = end;
      score[4] = score[4]! + (queue.stocks.length > 0 ? swaps : change > 0 ? 1 : 0);
      score[5] = score[5]! + end;
    }
    score[3] = visits(timing.taken, queue.visitGap);
    return timing;
  };
}

function pausesIn(queue: Queue): number {
  return queue.jobs.reduce((sum, { pauses }) => sum + Math.max(0, ...(pauses ?? []).map((list) => list.length)), 0);
}

/** Only what the last run drew hangs on a machine; the spools it replaced are off. */
function leaveOnly(stockOn: Int32Array, k: number, stockOf: Int32Array, from: number, to: number): void {
  for (let s = 0; s < stockOn.length; s++) {
    if (stockOn[s] !== k) continue;
    let kept = false;
    for (let d = from; d < to; d++) if (stockOf[d] === s) kept = true;
    if (!kept) stockOn[s] = -1;
  }
}

function visits(taken: Taken, gap: number): number {
  let count = 0;
  let until = -Infinity;
  for (let i = 0; i < taken.count; i++) {
    if (taken.from[i]! > until + gap) count++;
    if (taken.to[i]! > until) until = taken.to[i]!;
  }
  return count;
}
