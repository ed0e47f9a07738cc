import { type Calendar, createCalendar, earliestBlock } from './earliest-block.ts';
import type { Choice, Queue, QueueMachine } from './queue.ts';

export type Proof =
  | Readonly<{ found: 'nothing better' }>
  | Readonly<{ found: 'better'; choice: Choice }>
  | Readonly<{ found: 'gave up' }>;

export interface ProveOptions {
  /** every job must end by then, and by its due */
  readonly by: number;
  readonly nodes: number;
  readonly stop?: (() => boolean) | undefined;
}

/**
 * Can one person get every job done by a given time? Complete search over the order of the person's blocks, each as early as that
 * order allows (some such order is feasible if any schedule is). Cut off where the jobs left cannot be shared among the
 * machines even without the one-person rule, by tables of the latest moment from which a machine can still do a set of jobs,
 * and where a state seen before was as far with everything no later. For queues without spools.
 */
export function proveOnePerson(queue: Queue, { by, nodes, stop }: ProveOptions): Proof {
  const n = queue.jobs.length;
  const m = queue.machines.length;
  const limit = Math.min(by, queue.until);
  const calendar = createCalendar(queue.present);
  const latest = queue.machines.map((_, k) => latestReady(queue, k, limit, calendar));
  const families = queue.machines.map((_, k) => queue.change[k]!.length + 1);
  const twins = twinsBefore(queue);
  const sequence: number[] = [];
  const machineOf = new Int32Array(n);
  const seen = new Map<string, Float64Array[]>();
  let visited = 0;
  let gaveUp = false;

  // Jobs that a machine can still do alone, from where it is, and of them those that no other can.
  const able = new Int32Array(m);
  const forced = new Int32Array(m);
  // A machine's family is stored one up, 0 for none.
  const shareable = (rest: number, free: number, ready: Float64Array, family: Int32Array): boolean => {
    able.fill(0);
    forced.fill(0);
    for (let j = 0; j < n; j++) {
      const bit = 1 << j;
      if ((rest & bit) === 0) continue;
      let only = -1;
      for (let k = 0; k < m; k++) {
        if (Math.max(ready[k]!, free) > latest[k]![bit * families[k]! + family[k]!]!) continue;
        able[k] = able[k]! | bit;
        only = only === -1 ? k : -2;
      }
      if (only === -1) return false;
      if (only >= 0) forced[only] = forced[only]! | bit;
    }
    return shareFrom(0, rest, free, ready, family);
  };
  const shareFrom = (k: number, rest: number, free: number, ready: Float64Array, family: Int32Array): boolean => {
    const at = Math.max(ready[k]!, free);
    const table = latest[k]!;
    const stride = families[k]!;
    const row = family[k]!;
    const must = forced[k]!;
    if (at > table[must * stride + row]!) return false;
    if (k === m - 1) return (rest & ~able[k]!) === 0 && at <= table[rest * stride + row]!;
    let later = 0;
    for (let i = k + 1; i < m; i++) later |= able[i]!;
    // What only this machine can take of what is left, and what it may take beside.
    const own = must | (rest & ~later);
    const may = rest & able[k]! & later & ~must;
    for (let part = may; ; part = (part - 1) & may) {
      const set = own | part;
      if (at <= table[set * stride + row]! && shareFrom(k + 1, rest & ~set, free, ready, family)) return true;
      if (part === 0) return false;
    }
  };

  const search = (rest: number, free: number, ready: Float64Array, family: Int32Array): boolean => {
    if (rest === 0) return true;
    if (++visited > nodes || (visited % 1024 === 0 && stop?.() === true)) {
      gaveUp = true;
      return false;
    }
    if (beaten(seen, `${rest} ${family.join(' ')}`, free, ready)) return false;
    if (!shareable(rest, free, ready, family)) return false;
    for (const { j, k, block, end } of nextBlocks(rest, free, ready, family)) {
      const readyBefore = ready[k]!;
      const familyBefore = family[k]!;
      sequence.push(j);
      machineOf[j] = k;
      ready[k] = end + queue.machines[k]!.coolDown;
      family[k] = queue.jobs[j]!.family + 1;
      if (search(rest & ~(1 << j), block, ready, family)) return true;
      ready[k] = readyBefore;
      family[k] = familyBefore;
      sequence.pop();
      if (gaveUp) return false;
    }
    return false;
  };

  const nextBlocks = (rest: number, free: number, ready: Float64Array, family: Int32Array): Next[] => {
    const list: Next[] = [];
    for (let j = 0; j < n; j++) {
      if ((rest & (1 << j)) === 0 || (twins[j]! & rest) !== 0) continue;
      const job = queue.jobs[j]!;
      for (let k = 0; k < m; k++) {
        const duration = job.durations[k]!;
        if (duration === Infinity) continue;
        const machine = queue.machines[k]!;
        const pre = workBefore(queue, k, family[k]! - 1, j, ready[k] !== machine.availableFrom || machine.unloadFirst);
        const watch = Math.min(queue.watch, duration);
        const from = Math.max(ready[k]!, job.release, free);
        const at = earliestBlock(calendar, machine, undefined, from, pre, watch, duration);
        const end = at + pre + duration;
        if (end <= limit && end <= job.due) list.push({ j, k, from: at, block: at + pre + watch, end });
      }
    }
    return list.sort((a, b) => a.from - b.from || a.end - b.end || a.j - b.j || a.k - b.k);
  };

  const ready = Float64Array.from(queue.machines, (machine) => machine.availableFrom);
  const family = Int32Array.from(queue.machines, (machine) => machine.loaded + 1);
  if (search((1 << n) - 1, 0, ready, family)) {
    const choice = { sequence: Int32Array.from(sequence), machineOf, stockOf: new Int32Array(0) };
    return { found: 'better', choice };
  }
  return { found: gaveUp ? 'gave up' : 'nothing better' };
}

/** block: the end of the block */
type Next = Readonly<{ j: number; k: number; from: number; block: number; end: number }>;

function workBefore(queue: Queue, k: number, before: number, j: number, unload: boolean): number {
  const change = before >= 0 ? queue.change[k]![before]![queue.jobs[j]!.family]! : 0;
  return queue.startWork + change + (unload ? queue.unload : 0);
}

const MOST_KEPT = 40;

/** Whether a state that failed had the same jobs left and families, and nothing later; keeps this one otherwise. */
function beaten(seen: Map<string, Float64Array[]>, key: string, free: number, ready: Float64Array): boolean {
  const list = seen.get(key);
  const state = Float64Array.of(free, ...ready);
  if (list === undefined) {
    seen.set(key, [state]);
    return false;
  }
  for (const other of list) {
    let noLater = true;
    for (let i = 0; i < state.length && noLater; i++) noLater = other[i]! <= state[i]!;
    if (noLater) return true;
  }
  if (list.length < MOST_KEPT) list.push(state);
  return false;
}

/** For each job, those of lower number that are the same in all that counts: they may go first. */
function twinsBefore(queue: Queue): Int32Array {
  const same = (a: number, b: number): boolean => {
    const x = queue.jobs[a]!;
    const y = queue.jobs[b]!;
    const even = x.family === y.family && x.release === y.release && x.due === y.due;
    return even && x.durations.every((duration, k) => duration === y.durations[k]);
  };
  return Int32Array.from(queue.jobs, (_, j) => {
    let mask = 0;
    for (let i = 0; i < j; i++) if (same(i, j)) mask |= 1 << i;
    return mask;
  });
}

/**
 * latest[set · (families + 1) + family + 1]: the latest moment at which machine k may get free, with that family loaded, and still
 * end every job of the set by the limit and its due; −Infinity when it cannot. Whether something lies on the plate is taken the
 * easy way, as nothing, before the first run of a machine that begins empty: the bound stays a bound.
 */
function latestReady(queue: Queue, k: number, limit: number, calendar: Calendar): Float64Array {
  const n = queue.jobs.length;
  const machine = queue.machines[k]!;
  const rows = queue.change[k]!.length + 1;
  const table = new Float64Array((1 << n) * rows).fill(-Infinity);
  table.fill(Infinity, 0, rows);
  const emptyRow = machine.unloadFirst ? -1 : machine.loaded + 1;
  for (let set = 1; set < 1 << n; set++) {
    for (let row = 0; row < rows; row++) {
      let best = -Infinity;
      for (let j = 0; j < n; j++) {
        if ((set & (1 << j)) === 0) continue;
        const job = queue.jobs[j]!;
        const duration = job.durations[k]!;
        if (duration === Infinity) continue;
        const after = table[(set ^ (1 << j)) * rows + job.family + 1]!;
        const by = Math.min(limit, job.due, after - machine.coolDown);
        if (by === -Infinity) continue;
        const pre = workBefore(queue, k, row - 1, j, row !== emptyRow);
        const at = latestBlock(calendar, machine, job.release, pre, Math.min(queue.watch, duration), duration, by);
        if (at > best) best = at;
      }
      table[set * rows + row] = best;
    }
  }
  return table;
}

/** The latest begin of a block whose run ends by `by`; −Infinity when there is none at or after `release`. */
function latestBlock(
  calendar: Calendar,
  machine: QueueMachine,
  release: number,
  pre: number,
  watch: number,
  duration: number,
  by: number,
): number {
  const inPresence = machine.unattended ? pre + watch : pre + duration;
  let at = by - pre - duration;
  let span = calendar.from.length - 1;
  search: for (;;) {
    while (span >= 0 && calendar.from[span]! > at) span--;
    if (span < 0) return -Infinity;
    // A block of no length may begin anywhere before the end of a stretch, as the earliest one does.
    const fits = Math.min(at, calendar.to[span]! - inPresence);
    if (fits < calendar.from[span]!) {
      span--;
      continue;
    }
    at = fits;
    if (at < release) return -Infinity;
    for (const [downFrom, downTo] of machine.down) {
      if (at < downTo && at + pre + duration > downFrom) {
        at = downFrom - pre - duration;
        continue search;
      }
    }
    return at;
  }
}
