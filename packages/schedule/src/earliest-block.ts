import type { Queue, QueueMachine } from './queue.ts';

/** Sorted stretches of the person's time that are taken; grows in place. */
export interface Taken {
  readonly from: Float64Array;
  readonly to: Float64Array;
  count: number;
}

export function createTaken(capacity: number): Taken {
  return { from: new Float64Array(capacity), to: new Float64Array(capacity), count: 0 };
}

export function take(taken: Taken, from: number, to: number): void {
  let k = taken.count;
  while (k > 0 && taken.from[k - 1]! > from) {
    taken.from[k] = taken.from[k - 1]!;
    taken.to[k] = taken.to[k - 1]!;
    k--;
  }
  taken.from[k] = from;
  taken.to[k] = to;
  taken.count++;
}

export interface Calendar {
  readonly from: Float64Array;
  readonly to: Float64Array;
  /** largest length of a span from index k on, so that what fits nowhere ends at once */
  readonly longestFrom: Float64Array;
}

export function createCalendar(present: Queue['present']): Calendar {
  const n = present.length;
  const from = new Float64Array(n);
  const to = new Float64Array(n);
  const longestFrom = new Float64Array(n + 1);
  for (let k = n - 1; k >= 0; k--) {
    from[k] = present[k]![0];
    to[k] = present[k]![1];
    longestFrom[k] = Math.max(longestFrom[k + 1]!, to[k]! - from[k]!);
  }
  return { from, to, longestFrom };
}

/**
 * The earliest begin, not before `ready`, of a block of work of `pre` before the start and `watch` after it, on this
 * machine, so that the block lies in one stretch of presence and in free time of the person, and the machine is in service
 * until the run ends; a run on a machine that must be attended lies in the same stretch as its block. `pauses` are moments
 * of the run, from its start, at which the person must be there and free for `pauseWork`.
 * Infinity when there is none. Never earlier for a later `ready`: so doing each thing as early as possible loses nothing.
 */
export function earliestBlock(
  calendar: Calendar,
  machine: QueueMachine,
  taken: Taken | undefined,
  ready: number,
  pre: number,
  watch: number,
  duration: number,
  pauses: readonly number[] = NO_PAUSES,
  pauseWork = 0,
): number {
  const block = pre + watch;
  const inPresence = machine.unattended ? block : pre + duration;
  let at = ready;
  let span = firstEndingAfter(calendar, at);
  let free = 0;
  const spans = calendar.from.length;
  search: for (;;) {
    while (
      span < spans &&
      (calendar.to[span]! <= at || calendar.to[span]! - Math.max(at, calendar.from[span]!) < inPresence)
    ) {
      if (calendar.longestFrom[span]! < inPresence) return Infinity;
      span++;
    }
    if (span >= spans) return Infinity;
    if (calendar.from[span]! > at) at = calendar.from[span]!;
    for (const [downFrom, downTo] of machine.down) {
      if (at < downTo && at + pre + duration > downFrom) {
        at = downTo;
        continue search;
      }
    }
    if (taken !== undefined) {
      while (free < taken.count && taken.to[free]! <= at) free++;
      if (free < taken.count && taken.from[free]! < at + block) {
        at = taken.to[free]!;
        continue;
      }
    }
    for (const pause of pauses) {
      const wait = waitForPause(calendar, taken, at + pre + pause, pauseWork);
      if (wait === Infinity) return Infinity;
      if (wait > 0) {
        at += wait;
        continue search;
      }
    }
    return at;
  }
}

const NO_PAUSES: readonly number[] = [];

/** How much later a pause must be for the person to be there and free; 0 when it may be as it is. */
function waitForPause(calendar: Calendar, taken: Taken | undefined, at: number, work: number): number {
  let span = firstEndingAfter(calendar, at);
  while (span < calendar.from.length && calendar.to[span]! - Math.max(at, calendar.from[span]!) < work) span++;
  if (span >= calendar.from.length) return Infinity;
  if (calendar.from[span]! > at) return calendar.from[span]! - at;
  if (taken === undefined) return 0;
  for (let k = 0; k < taken.count; k++) if (taken.from[k]! < at + work && taken.to[k]! > at) return taken.to[k]! - at;
  return 0;
}

function firstEndingAfter(calendar: Calendar, at: number): number {
  let low = 0;
  let high = calendar.to.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (calendar.to[middle]! > at) high = middle;
    else low = middle + 1;
  }
  return low;
}
