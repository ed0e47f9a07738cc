import type { Chains } from './cut-planes.ts';

export type ClosedLoops = Readonly<{
  xyMm: Float64Array;
  loopStart: Uint32Array;
  layerStart: Uint32Array;
  openChains: number;
}>;

/**
 * Joins the open chains of each plane end to start where the gap is at most gapMm, nearest first, turning chains round
 * where two mis-oriented triangles meet. A joined chain that comes back to its own start becomes a loop. What stays
 * open is counted; it is closed with a straight line when that line is shorter than a quarter of the chain (a layer
 * with a crack is better than a layer that is missing), and dropped otherwise.
 */
export function closeChains(chains: Chains, gapMm: number): ClosedLoops {
  if (chains.openCount === 0) {
    return { xyMm: chains.xyMm, loopStart: chains.chainStart, layerStart: chains.planeStart, openChains: 0 };
  }
  const planes = chains.planeStart.length - 1;
  const xy: number[] = [];
  const loopStart: number[] = [0];
  const layerStart = new Uint32Array(planes + 1);
  let openChains = 0;
  for (let k = 0; k < planes; k++) {
    const pieces: number[][] = [];
    for (let c = chains.planeStart[k]; c < chains.planeStart[k + 1]; c++) {
      const points = chains.xyMm.subarray(2 * chains.chainStart[c], 2 * chains.chainStart[c + 1]);
      if (chains.open[c]) pieces.push(Array.from(points));
      else addLoop(points, xy, loopStart);
    }
    for (const joined of joinPieces(pieces, gapMm)) {
      const gap = gapOf(joined);
      if (gap > gapMm) openChains++;
      if (gap <= gapMm || gap < 0.25 * lengthOf(joined)) addLoop(joined, xy, loopStart);
    }
    layerStart[k + 1] = loopStart.length - 1;
  }
  return { xyMm: Float64Array.from(xy), loopStart: Uint32Array.from(loopStart), layerStart, openChains };
}

function addLoop(points: ArrayLike<number>, xy: number[], loopStart: number[]): void {
  for (let i = 0; i < points.length; i++) xy.push(points[i]);
  loopStart.push(xy.length / 2);
}

/** Repeats the nearest allowed join; sizes are small (cracks), so all pairs are compared. */
function joinPieces(pieces: number[][], gapMm: number): number[][] {
  const left = pieces.slice();
  for (;;) {
    let best = gapMm * gapMm;
    let from = -1;
    let to = -1;
    let how = 0;
    for (let i = 0; i < left.length; i++) {
      // A chain whose own ends meet is done.
      if (gapOf(left[i]) === 0) continue;
      for (let j = 0; j < left.length; j++) {
        if (i === j || gapOf(left[j]) === 0) continue;
        for (let turn = 0; turn < 3; turn++) {
          if (turn > 0 && j < i) continue;
          const d = endDistance2(left[i], left[j], turn);
          // A turned join must be strictly better: orientation is information.
          if (d < best || (d === best && from < 0)) {
            best = d;
            from = i;
            to = j;
            how = turn;
          }
        }
      }
    }
    if (from < 0 || bestIsOwnEnds(left[from], best)) return left;
    const a = how === 2 ? turned(left[from]) : left[from];
    const b = how === 1 ? turned(left[to]) : left[to];
    const joined = a.concat(best === 0 ? b.slice(2) : b);
    left[from] = joined;
    left.splice(to, 1);
  }
}

/** Distance² from the end of a to the start of b (0), to the end of b (1), or from the start of a to the start of b (2). */
function endDistance2(a: number[], b: number[], turn: number): number {
  const ax = turn === 2 ? a[0] : a[a.length - 2];
  const ay = turn === 2 ? a[1] : a[a.length - 1];
  const bx = turn === 1 ? b[b.length - 2] : b[0];
  const by = turn === 1 ? b[b.length - 1] : b[1];
  return (ax - bx) ** 2 + (ay - by) ** 2;
}

const bestIsOwnEnds = (chain: number[], best2: number): boolean => gapOf(chain) ** 2 < best2;

function turned(chain: number[]): number[] {
  const out: number[] = [];
  for (let i = chain.length - 2; i >= 0; i -= 2) out.push(chain[i], chain[i + 1]);
  return out;
}

function gapOf(chain: number[]): number {
  return Math.hypot(chain[0] - chain[chain.length - 2], chain[1] - chain[chain.length - 1]);
}

function lengthOf(chain: number[]): number {
  let sum = 0;
  for (let i = 2; i < chain.length; i += 2) sum += Math.hypot(chain[i] - chain[i - 2], chain[i + 1] - chain[i - 1]);
  return sum;
}
