import { createCalendar, earliestBlock } from './earliest-block.ts';
import { type Choice, drawStarts, type Queue } from './queue.ts';

export interface ExactResult {
  /** lower bounds of the first three parts of a score: left behind, late, finish */
  readonly leftBehind: number;
  readonly late: number;
  /** among the answers that reach the first two */
  readonly finish: number;
  /** among all answers that leave no more behind, however late */
  readonly finishIfLate: number;
  /** an order that reaches them if persons are enough and changes go by family; jobs left behind come last */
  readonly choice: Choice;
}

export interface ExactOptions {
  /** longest queue that is tried, default 16 */
  readonly limit?: number;
  /** a lateness that is known to be possible without the one-person rule and spools */
  readonly lateness?: number;
}

/**
 * Dynamic programme over subsets: for one machine, subset of jobs and last family, the earliest end; then the best way to
 * share the jobs among the machines over sub-subsets, 3^n steps a machine. The rule of one person and the spools are
 * left out, so the result bounds from below, and is exact where they do not bind. (Held & Karp 1962 for the first part.)
 * `limit` jobs at most (16: about 0.7 s on 3 machines with 4 families); undefined above.
 */
export function exactQueue(
  queue: Queue,
  { limit = 16, lateness = Infinity }: ExactOptions = {},
): ExactResult | undefined {
  if (queue.jobs.length > limit || queue.jobs.length === 0) return undefined;
  const free = shareOut(queue, Infinity);
  const tardinessFree = queue.measure === 'tardiness' && queue.jobs.every((job) => job.due === Infinity);
  if (tardinessFree) return { ...free, late: 0, finishIfLate: free.finish };
  if (queue.measure === 'tardiness') {
    const onTime = shareOut(queue, 0);
    // Some job must be late: by how much is not known here, and 0 is a bound that is not reached.
    const all = onTime.leftBehind > free.leftBehind ? free : onTime;
    return { ...all, late: 0, finishIfLate: free.finish };
  }
  return leastLateness(queue, free, lateness);
}

/** Whole units of time: halve the range of the lateness until one value is left. */
function leastLateness(queue: Queue, free: Shares, known: number): ExactResult {
  const dues = queue.jobs.map((job) => job.due).filter((due) => due < Infinity);
  if (dues.length === 0) return { ...free, late: -Infinity, finishIfLate: free.finish };
  let high = Math.min(known, free.finish - Math.min(...dues));
  let low = -Math.max(...dues) - 1;
  let best: Shares | undefined;
  // What a search found is mostly the least already: one look below it then ends the halving.
  let middle = high - 1;
  while (high - low > 1) {
    const attempt = shareOut(queue, middle);
    if (attempt.leftBehind <= free.leftBehind) {
      high = middle;
      best = attempt;
    } else low = middle;
    middle = Math.floor((low + high) / 2);
  }
  best ??= shareOut(queue, high);
  return { ...best, late: high, finishIfLate: free.finish };
}

type Shares = Readonly<{ leftBehind: number; finish: number; choice: Choice }>;

/** Most worth, then least finish, when no job may end later than its due and `lateness`. */
function shareOut(queue: Queue, lateness: number): Shares {
  const tables = queue.machines.map((_, k) => machineTable(queue, k, lateness));
  const full = (1 << queue.jobs.length) - 1;
  let least = tables[0]!.least;
  const joined: Float64Array[] = [least];
  for (let k = 1; k < tables.length - 1; k++) {
    const next = new Float64Array(full + 1);
    for (let set = 0; set <= full; set++) next[set] = bestSplit(least, tables[k]!.least, set).finish;
    least = next;
    joined.push(least);
  }
  const last = tables.length - 1;
  const finishOf = (set: number): number =>
    last === 0 ? least[set]! : bestSplit(least, tables[last]!.least, set).finish;
  const { set, leftBehind } = mostWorth(queue, finishOf);
  const finish = finishOf(set);
  return { leftBehind, finish: Math.max(0, finish), choice: choiceOf(queue, tables, joined, set) };
}

function bestSplit(a: Float64Array, b: Float64Array, set: number): { finish: number; part: number } {
  let finish = Infinity;
  let part = 0;
  for (let sub = set; ; sub = (sub - 1) & set) {
    const x = a[set ^ sub]!;
    const y = b[sub]!;
    const larger = Math.max(x, y);
    if (larger < finish) {
      finish = larger;
      part = sub;
    }
    if (sub === 0) break;
  }
  return { finish, part };
}

/** The subset of most worth that can be done; of equal worth, the one that ends first. */
function mostWorth(queue: Queue, finishOf: (set: number) => number): { set: number; leftBehind: number } {
  const n = queue.jobs.length;
  const full = (1 << n) - 1;
  if (finishOf(full) < Infinity) return { set: full, leftBehind: 0 };
  const lost = new Float64Array(full + 1);
  for (let set = full - 1; set >= 0; set--) {
    // Add up in a fixed order, so that equal sets of losses give equal sums whatever path led to them.
    let sum = 0;
    for (let j = 0; j < n; j++) if ((set & (1 << j)) === 0) sum += queue.jobs[j]!.worth;
    lost[set] = sum;
  }
  const order = Uint32Array.from({ length: full + 1 }, (_, set) => set).sort((a, b) => lost[a]! - lost[b]! || a - b);
  let best = 0;
  let bestFinish = Infinity;
  for (const set of order) {
    if (bestFinish < Infinity && lost[set]! > lost[best]! * (1 + 1e-12)) break;
    const finish = finishOf(set);
    if (finish < bestFinish) {
      best = set;
      bestFinish = finish;
    }
  }
  return { set: best, leftBehind: lost[best]! };
}

type Table = Readonly<{
  end: Float64Array;
  lastJob: Int8Array;
  familyBefore: Int16Array;
  least: Float64Array;
  families: number;
}>;

function machineTable(queue: Queue, k: number, lateness: number): Table {
  const n = queue.jobs.length;
  const families = queue.change[k]!.length;
  const machine = queue.machines[k]!;
  const calendar = createCalendar(queue.present);
  const sets = 1 << n;
  const end = new Float64Array(sets * families).fill(Infinity);
  const lastJob = new Int8Array(sets * families).fill(-1);
  const familyBefore = new Int16Array(sets * families).fill(-1);
  const least = new Float64Array(sets).fill(Infinity);
  least[0] = -Infinity;
  const step = (set: number, before: number, ready: number, unload: boolean): void => {
    for (let j = 0; j < n; j++) {
      if ((set & (1 << j)) !== 0) continue;
      const job = queue.jobs[j]!;
      const duration = job.durations[k]!;
      if (duration === Infinity) continue;
      const change = before >= 0 ? queue.change[k]![before]![job.family]! : 0;
      const pre = queue.startWork + change + (unload ? queue.unload : 0);
      const watch = Math.min(queue.watch, duration);
      const from = Math.max(ready, job.release);
      const finish = earliestBlock(calendar, machine, undefined, from, pre, watch, duration) + pre + duration;
      if (finish > queue.until || finish > job.due + lateness || finish === Infinity) continue;
      const at = (set | (1 << j)) * families + job.family;
      if (finish < end[at]!) {
        end[at] = finish;
        lastJob[at] = j;
        familyBefore[at] = before;
      }
    }
  };
  step(0, machine.loaded, machine.availableFrom, machine.unloadFirst);
  for (let set = 1; set < sets; set++) {
    for (let family = 0; family < families; family++) {
      const finish = end[set * families + family]!;
      if (finish === Infinity) continue;
      if (finish < least[set]!) least[set] = finish;
      step(set, family, finish + machine.coolDown, true);
    }
  }
  return { end, lastJob, familyBefore, least, families };
}

function choiceOf(queue: Queue, tables: readonly Table[], joined: readonly Float64Array[], set: number): Choice {
  const n = queue.jobs.length;
  const machineOf = new Int32Array(n);
  const endOf = new Float64Array(n).fill(Infinity);
  let rest = set;
  for (let k = tables.length - 1; k >= 0; k--) {
    const part = k === 0 ? rest : bestSplit(joined[k - 1]!, tables[k]!.least, rest).part;
    rest ^= part;
    const { end, lastJob, familyBefore, families } = tables[k]!;
    let here = part;
    let family = 0;
    for (let f = 1; f < families; f++) if (end[here * families + f]! < end[here * families + family]!) family = f;
    while (here !== 0) {
      const at = here * families + family;
      const j = lastJob[at]!;
      machineOf[j] = k;
      endOf[j] = end[at]! - queue.jobs[j]!.durations[k]!;
      here ^= 1 << j;
      family = familyBefore[at]!;
    }
  }
  for (let j = 0; j < n; j++) {
    if (endOf[j] === Infinity)
      machineOf[j] = Math.max(
        0,
        queue.jobs[j]!.durations.findIndex((d) => d < Infinity),
      );
  }
  // In the order of the starts.
  const order = Array.from({ length: n }, (_, j) => j);
  order.sort((a, b) => (endOf[a]! === endOf[b]! ? a - b : endOf[a]! - endOf[b]!));
  return {
    sequence: Int32Array.from(order),
    machineOf,
    stockOf: new Int32Array(drawStarts(queue)[n]!).fill(-1),
  };
}
