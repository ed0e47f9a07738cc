import type { Random } from '@stonehand/base';
import { type Filling, fillSkyline, type Rectangles } from './skyline.ts';

// Orders tried for one choice of bins before another is taken.
const TRIES = 8;
// What stays outside weighs this much more at each step, until it is worth putting others out for it.
const GROWTH = 1.03;

/**
 * Fewer bins: one bin is emptied, its contents wait outside, and a few bins at a time are refilled in a new order from what
 * they held and what waits; the new filling stays when what then waits weighs no more than before. Weights grow while a
 * rectangle waits (guided local search, Voudouris & Tsang 1999; ejection from few bins as in Lodi, Martello, Vigo 1999).
 * @param filling a whole filling to start from
 * @param goesOn asked before each step, with the rectangles laid down since a bin was saved, and by the last step
 */
export function refillBins(
  filling: Filling,
  rects: Rectangles,
  limitX: number,
  heightY: number,
  leastBins: number,
  random: Random,
  goesOn: (sinceBest: number, looks: number) => boolean,
): Filling {
  const n = rects.sizeX.length;
  const areas = Array.from({ length: n }, (_, i) => rects.sizeX[i]! * rects.sizeY[i]!);
  const weight = new Float64Array(n).fill(1);
  const weighs = (i: number): number => weight[i]! * areas[i]!;
  let best = copyOf(filling);
  const now = copyOf(filling);
  const trial = copyOf(filling);
  let waiting: number[] = [];
  let since = 0;
  let looks = 0;
  while (goesOn(since, looks)) {
    if (waiting.length === 0) {
      best = copyOf(now);
      since = 0;
      if (best.bins <= leastBins) break;
      waiting = emptyOne(now, areas);
      weight.fill(1);
    }
    const bins = someOf(now.bins, random);
    const items = [...waiting];
    for (let i = 0; i < n; i++) if (bins.includes(now.bin[i]!)) items.push(i);
    const before = waiting.reduce((sum, i) => sum + weighs(i), 0);
    looks = 0;
    for (let k = 0; k < TRIES; k++) {
      fillSkyline(rects, Int32Array.from(disturbed(items, weighs, random)), limitX, heightY, trial);
      looks += items.length;
      const left = items.filter((i) => trial.bin[i]! >= bins.length);
      if (left.reduce((sum, i) => sum + weighs(i), 0) > before * (1 + 1e-12)) continue;
      for (const i of items) take(now, trial, i, trial.bin[i]! < bins.length ? bins[trial.bin[i]!]! : -1);
      waiting = left;
      break;
    }
    since += looks;
    for (const i of waiting) weight[i]! *= GROWTH;
  }
  return best;
}

/** Takes the emptiest bin away; returns what was in it. */
function emptyOne(filling: Filling, areas: readonly number[]): number[] {
  const area = new Float64Array(filling.bins);
  areas.forEach((mm2, i) => {
    area[filling.bin[i]!]! += mm2;
  });
  const emptiest = area.reduce((low, mm2, b) => (mm2 < area[low]! ? b : low), 0);
  const last = --filling.bins;
  const out: number[] = [];
  for (let i = 0; i < areas.length; i++) {
    if (filling.bin[i] === emptiest) {
      out.push(i);
      filling.bin[i] = -1;
    } else if (filling.bin[i] === last) filling.bin[i] = emptiest;
  }
  return out;
}

/** One to three bins by chance. */
function someOf(bins: number, random: Random): number[] {
  const wanted = Math.min(bins, 1 + random.below(3));
  const chosen: number[] = [];
  while (chosen.length < wanted) {
    const b = random.below(bins);
    if (!chosen.includes(b)) chosen.push(b);
  }
  return chosen;
}

/** Heaviest first, each blurred by a random share; now and then by chance alone. */
function disturbed(items: readonly number[], weighs: (i: number) => number, random: Random): number[] {
  const blur = random.next() < 0.2 ? 20 : 3 * random.next() ** 2;
  const key = new Map(items.map((i) => [i, weighs(i) * (1 + blur * random.next())]));
  return [...items].sort((a, b) => key.get(b)! - key.get(a)! || a - b);
}

function take(now: Filling, trial: Filling, i: number, bin: number): void {
  now.x[i] = trial.x[i]!;
  now.y[i] = trial.y[i]!;
  now.isTurned[i] = trial.isTurned[i]!;
  now.bin[i] = bin;
}

function copyOf(filling: Filling): Filling {
  return {
    ...filling,
    x: filling.x.slice(),
    y: filling.y.slice(),
    bin: filling.bin.slice(),
    isTurned: filling.isTurned.slice(),
  };
}
