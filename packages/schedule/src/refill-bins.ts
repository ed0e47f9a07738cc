import type { Random } from '@stonehand/base';

/** Fleszar & Hindi 2002 (minimum bin slack, from memory): fill one bin at a time with the fullest set; then break up some bins and fill again. */
export function createRefill(
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  order: readonly number[],
  random: Random,
): () => Int32Array | undefined {
  const bins = Array.from({ length: capacities.length }, (_, b) => b).sort(
    (a, b) => capacities[b]! - capacities[a]! || a - b,
  );
  let binOf = new Int32Array(sizes.length).fill(-1);
  let loose = fillAll(bins, [...order], capacities, sizes, binOf, random);
  return () => {
    for (let move = 0; move < MOVES && loose.length > 0; move++) {
      const trial = Int32Array.from(binOf);
      const opened = new Set<number>();
      const wanted = 2 + random.below(Math.min(6, bins.length));
      for (let tries = 0; opened.size < Math.min(wanted, bins.length) && tries < 50; tries++)
        opened.add(bins[random.below(bins.length)]!);
      const pool = [...loose];
      for (let i = 0; i < trial.length; i++) {
        if (trial[i]! >= 0 && opened.has(trial[i]!)) {
          pool.push(i);
          trial[i] = -1;
        }
      }
      pool.sort((a, b) => sizes[b]! - sizes[a]! || a - b);
      const rest = fillAll([...opened], pool, capacities, sizes, trial, random);
      if (sum(rest, sizes) <= sum(loose, sizes)) {
        binOf = trial;
        loose = rest;
      }
    }
    return loose.length === 0 ? binOf : undefined;
  };
}

const MOVES = 100;

function sum(items: readonly number[], sizes: ArrayLike<number>): number {
  return items.reduce((total, i) => total + sizes[i]!, 0);
}

/** Sets looked at for one bin. */
const FILL_NODES = 2000;

function fillAll(
  bins: readonly number[],
  pool: number[],
  capacities: ArrayLike<number>,
  sizes: ArrayLike<number>,
  binOf: Int32Array,
  random: Random,
): number[] {
  let rest = pool;
  for (const b of bins) {
    if (rest.length === 0) break;
    // Most times the largest item leads, so that it is not left for last; sometimes any, to leave the rut.
    const lead = random.next() < 0.7 ? 0 : random.below(rest.length);
    const chosen = fullest(rest, lead, capacities[b]!, sizes, random);
    for (const i of chosen) binOf[i] = b;
    rest = rest.filter((i) => binOf[i] !== b);
  }
  return rest;
}

/** The set with the lead item (if it fits) that leaves least room. Items come sorted, largest first. */
function fullest(
  items: readonly number[],
  lead: number,
  capacity: number,
  sizes: ArrayLike<number>,
  random: Random,
): number[] {
  const chosen: number[] = [];
  let left = capacity;
  const first = items[lead]!;
  if (sizes[first]! <= left) {
    chosen.push(first);
    left -= sizes[first]!;
  }
  const others = items.filter((i) => i !== first);
  // Equal fills differ in which items they use: a random cyclic order of the same sizes would not help, so skip some at random.
  const skip = random.next() < 0.5 ? 0 : 0.3 * random.next();
  const candidates = skip === 0 ? others : others.filter(() => random.next() >= skip);
  let best: number[] = [];
  let bestLeft = left;
  let nodes = 0;
  const current: number[] = [];
  const search = (from: number, room: number): boolean => {
    if (room < bestLeft) {
      bestLeft = room;
      best = [...current];
      if (room === 0) return true;
    }
    let previous = -1;
    for (let p = from; p < candidates.length; p++) {
      const i = candidates[p]!;
      const size = sizes[i]!;
      if (size > room || size === previous) continue;
      previous = size;
      if (++nodes > FILL_NODES) return true;
      current.push(i);
      const stop = search(p + 1, room - size);
      current.pop();
      if (stop) return true;
    }
    return false;
  };
  search(0, left);
  return [...chosen, ...best];
}
