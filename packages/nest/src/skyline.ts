import type { Random } from '@stonehand/base';

/** Rectangles by number: size along x (the direction that grows) and y at turn 0, and whether a quarter turn is allowed. */
export type Rectangles = Readonly<{ sizeX: Float64Array; sizeY: Float64Array; mayTurn: Uint8Array }>;

/** Lower left corners, bins and quarter turns of a finished filling; `score` is the smaller the better. */
export type Filling = {
  x: Float64Array;
  y: Float64Array;
  bin: Int32Array;
  isTurned: Uint8Array;
  score: number;
  bins: number;
};

/**
 * Fills bins (or one strip, when limitX is infinite) by a skyline: at the lowest step of what is laid so far goes the
 * rectangle that fits it best, ties by the order given; a step that nothing fits is filled up (Burke, Kendall,
 * Whitwell 2004, Oper. Res. 52, best fit; how well a rectangle fits is counted as by Leung, Zhang, Sim 2011, from memory).
 */
export function fillSkyline(rects: Rectangles, order: Int32Array, limitX: number, heightY: number, out: Filling): void {
  const rest = order.slice();
  let left = rest.length;
  const line = { y: [0], x: [0], depth: [heightY] }; // steps from low to high y; x is how far they reach
  out.bins = 0;
  let reached = 0;
  let lastArea = 0;
  while (left > 0) {
    line.y = [0];
    line.x = [0];
    line.depth = [heightY];
    const bin = out.bins++;
    reached = 0;
    lastArea = 0;
    for (;;) {
      const step = lowestStep(line.x);
      const placed = left > 0 ? bestFit(rects, rest, left, line, step, limitX) : -1;
      if (placed < 0) {
        if (line.x.length === 1) break;
        raise(line, step);
        continue;
      }
      const k = placed >> 1;
      const item = rest[k]!;
      rest.copyWithin(k, k + 1, left--);
      const turn = placed & 1;
      const sx = turn ? rects.sizeY[item]! : rects.sizeX[item]!;
      const sy = turn ? rects.sizeX[item]! : rects.sizeY[item]!;
      out.x[item] = line.x[step]!;
      out.y[item] = layDown(line, step, sx, sy);
      out.bin[item] = bin;
      out.isTurned[item] = turn;
      reached = Math.max(reached, out.x[item]! + sx);
      lastArea += sx * sy;
    }
  }
  // Fewest bins; then the emptiest last one. A strip counts its length.
  out.score = limitX === Infinity ? reached : out.bins + lastArea / (limitX * heightY);
}

type Line = { y: number[]; x: number[]; depth: number[] };

function lowestStep(x: readonly number[]): number {
  let best = 0;
  for (let k = 1; k < x.length; k++) if (x[k]! < x[best]!) best = k;
  return best;
}

/** 2 · position in `rest` + turn of the rectangle that fits a step best, or −1. */
function bestFit(rects: Rectangles, rest: Int32Array, left: number, line: Line, step: number, limitX: number): number {
  const at = line.x[step]!;
  const room = line.depth[step]!;
  const below = step > 0 ? line.x[step - 1]! - at : Infinity;
  const above = step + 1 < line.x.length ? line.x[step + 1]! - at : Infinity;
  const eps = 1e-9 * room;
  let best = -1;
  let bestScore = -1;
  for (let k = 0; k < left; k++) {
    const item = rest[k]!;
    for (let turn = 0; turn <= rects.mayTurn[item]!; turn++) {
      const sx = turn ? rects.sizeY[item]! : rects.sizeX[item]!;
      const sy = turn ? rects.sizeX[item]! : rects.sizeY[item]!;
      if (sy > room + eps || at + sx > limitX * (1 + 1e-12)) continue;
      let score = 0;
      if (sy >= room - eps) score += 2;
      if (Math.abs(sx - below) <= eps) score++;
      if (Math.abs(sx - above) <= eps) score++;
      if (Math.abs(at + sx - limitX) <= eps) score++;
      if (score > bestScore) {
        best = 2 * k + turn;
        bestScore = score;
      }
    }
    if (bestScore >= 4) break;
  }
  return best;
}

/** Puts a rectangle on a step, against the farther reaching neighbour; returns its y. */
function layDown(line: Line, step: number, sx: number, sy: number): number {
  const { x, y, depth } = line;
  const below = step > 0 ? x[step - 1]! : Infinity;
  const above = step + 1 < x.length ? x[step + 1]! : Infinity;
  const top = y[step]! + depth[step]!;
  const rest = depth[step]! - sy;
  const reach = x[step]! + sx;
  if (rest <= 1e-9 * depth[step]!) {
    const at = y[step]!;
    x[step] = reach;
    join(line, step);
    return at;
  }
  const isLow = below >= above;
  const at = isLow ? y[step]! : top - sy;
  const old = x[step]!;
  const lowY = y[step]!;
  x.splice(step, 1, ...(isLow ? [reach, old] : [old, reach]));
  y.splice(step, 1, lowY, isLow ? lowY + sy : at);
  depth.splice(step, 1, ...(isLow ? [sy, rest] : [rest, sy]));
  join(line, isLow ? step : step + 1);
  return at;
}

/** Fills a step up to its nearer neighbour. */
function raise(line: Line, step: number): void {
  const below = step > 0 ? line.x[step - 1]! : Infinity;
  const above = step + 1 < line.x.length ? line.x[step + 1]! : Infinity;
  line.x[step] = Math.min(below, above);
  join(line, step);
}

/** Neighbouring steps of one reach become one. */
function join(line: Line, step: number): void {
  const { x, y, depth } = line;
  const eps = 1e-9 * Math.max(1, x[step]!);
  if (step + 1 < x.length && Math.abs(x[step + 1]! - x[step]!) <= eps) {
    depth[step] = depth[step]! + depth[step + 1]!;
    x.splice(step + 1, 1);
    y.splice(step + 1, 1);
    depth.splice(step + 1, 1);
  }
  if (step > 0 && Math.abs(x[step - 1]! - x[step]!) <= eps) {
    depth[step - 1] = depth[step - 1]! + depth[step]!;
    x.splice(step, 1);
    y.splice(step, 1);
    depth.splice(step, 1);
  }
}

// Fillings without a better one before the best order, or one at random, is taken up.
const AGAIN = 500;
const FRESH = 4000;

/**
 * Searches orders for the skyline: sorted four ways, then swaps, kept when not worse; every so often from the best again.
 * @param goesOn asked before each filling
 */
export function searchSkyline(
  rects: Rectangles,
  limitX: number,
  heightY: number,
  boundScore: number,
  random: Random,
  goesOn: (sinceBest: number) => boolean,
): Filling {
  const n = rects.sizeX.length;
  const fresh = (): Filling => ({
    x: new Float64Array(n),
    y: new Float64Array(n),
    bin: new Int32Array(n),
    isTurned: new Uint8Array(n),
    score: Infinity,
    bins: 0,
  });
  let best = fresh();
  let trial = fresh();
  let bestOrder = new Int32Array(n);
  const { sizeX, sizeY } = rects;
  const keys: ((i: number) => number)[] = [
    (i) => sizeX[i]! * sizeY[i]!,
    (i) => Math.max(sizeX[i]!, sizeY[i]!),
    (i) => sizeX[i]! + sizeY[i]!,
    (i) => Math.min(sizeX[i]!, sizeY[i]!),
  ];
  for (const key of keys) {
    const order = Int32Array.from({ length: n }, (_, i) => i).sort((a, b) => key(b) - key(a) || a - b);
    fillSkyline(rects, order, limitX, heightY, trial);
    if (trial.score < best.score) {
      [best, trial] = [trial, best];
      bestOrder = order;
    }
  }
  const order = bestOrder.slice();
  let score = best.score;
  for (let since = 0; best.score > boundScore && goesOn(since); since++) {
    const kept = order.slice();
    const swaps = 1 + random.below(3);
    for (let k = 0; k < swaps; k++) {
      const a = random.below(n);
      const b = random.below(n);
      [order[a], order[b]] = [order[b]!, order[a]!];
    }
    fillSkyline(rects, order, limitX, heightY, trial);
    // A little worse is taken now and then, so that the search leaves orders that no swap makes better.
    if (trial.score <= score || random.next() < Math.exp((score - trial.score) / (0.002 * score))) score = trial.score;
    else order.set(kept);
    if (trial.score < best.score) {
      [best, trial] = [trial, best];
      bestOrder = order.slice();
      since = 0;
    } else if (since % FRESH === FRESH - 1) {
      shuffle(order, random);
      score = Infinity;
    } else if (since % AGAIN === AGAIN - 1) {
      order.set(bestOrder);
      score = best.score;
    }
  }
  return best;
}

function shuffle(order: Int32Array, random: Random): void {
  for (let k = order.length - 1; k > 0; k--) {
    const other = random.below(k + 1);
    [order[k], order[other]] = [order[other]!, order[k]!];
  }
}
