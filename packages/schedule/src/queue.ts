/**
 * The queue in plain numbers, one unit of time for all (scheduleRuns uses whole seconds from the start of the plan).
 * Work on a printer before a run is one unbroken block: unloading what lies on it, the change of material, the start, and the
 * watch over the first minutes. The run starts within the block, `watch` before the block's end.
 */
export type Queue = Readonly<{
  machines: readonly QueueMachine[];
  jobs: readonly QueueJob[];
  /** attended work of a change, by machine, family before, family after */
  change: readonly (readonly (readonly number[])[])[];
  startWork: number;
  unload: number;
  watch: number;
  /** when the person is present: sorted, apart from each other */
  present: readonly (readonly [from: number, to: number])[];
  /** 'one': blocks on different machines may not overlap */
  persons: 'one' | 'enough';
  /** every run ends by then; Infinity when the window is open */
  until: number;
  /** what lateness is: the sum of weighted tardiness, or the largest finish minus due */
  measure: 'tardiness' | 'lateness';
  /** blocks that lie no further apart than this count as one time of getting up */
  visitGap: number;
  /** spools; empty when changes go by family */
  stocks: readonly QueueStock[];
  /** blocks of the person's time that are taken already, sorted */
  taken: readonly (readonly [from: number, to: number])[];
  /** the person's time at each pause of a run; default 0 */
  pauseWork?: number;
}>;

export type QueueMachine = Readonly<{
  id: string;
  availableFrom: number;
  /** index of the family that is loaded, −1 when the first run needs no change */
  loaded: number;
  /** stocks that hang on it */
  stocks: readonly number[];
  /** attended work for each stock that is put on */
  stockChange: number;
  /** something lies on the plate already */
  unloadFirst: boolean;
  unattended: boolean;
  coolDown: number;
  /** out of service: neither work nor run */
  down: readonly (readonly [from: number, to: number])[];
}>;

export type QueueJob = Readonly<{
  id: string;
  family: number;
  /** by machine; Infinity where it cannot be made */
  durations: readonly number[];
  release: number;
  /** Infinity when there is none */
  due: number;
  /** importance, counts lateness */
  weight: number;
  /** what is lost when it does not get into the window */
  worth: number;
  /** what it draws: one stock of this kind, so much of it */
  draws: readonly Readonly<{ kind: number; amount: number }>[];
  /** kept where it was: it goes before all others, starts no earlier than this, and keeps its stocks */
  keptStart?: number;
  /** jobs that must have ended before */
  after?: readonly number[];
  /** by machine, seconds from the start at which the person must be there */
  pauses?: readonly (readonly number[])[];
}>;

export type QueueStock = Readonly<{
  id: string;
  kind: number;
  amount: number;
  /** not to be used before, default 0 */
  freeFrom?: number;
}>;

/** What was decided: the order of the work, and for each job its machine and its stocks (−1 before they are chosen). */
export type Choice = Readonly<{ sequence: Int32Array; machineOf: Int32Array; stockOf: Int32Array }>;

/** Order of comparison; less is better. */
const SCORE_PARTS = ['leftBehind', 'late', 'finish', 'visits', 'changes', 'flow'] as const;
export type Score = Float64Array;

/** Negative when a is better. `parts` limits the comparison to the first so many. */
export function compareScores(a: Score, b: Score, parts: number = SCORE_PARTS.length): number {
  for (let k = 0; k < parts; k++) {
    const difference = a[k]! - b[k]!;
    // Worths and tardiness are sums of products; times are whole numbers.
    if (Math.abs(difference) > 1e-9 * Math.max(1, Math.abs(a[k]!))) return difference;
  }
  return 0;
}

/** Jobs that are kept, in the order of their starts: they are timed before the sequence. */
export function keptJobs(queue: Queue): number[] {
  const kept = queue.jobs.flatMap((job, j) => (job.keptStart === undefined ? [] : [j]));
  return kept.sort((a, b) => queue.jobs[a]!.keptStart! - queue.jobs[b]!.keptStart! || a - b);
}

/** Where job j's draws begin in Choice.stockOf; the last entry is their number. */
export function drawStarts(queue: Queue): Int32Array {
  const starts = new Int32Array(queue.jobs.length + 1);
  for (let j = 0; j < queue.jobs.length; j++) starts[j + 1] = starts[j]! + queue.jobs[j]!.draws.length;
  return starts;
}
