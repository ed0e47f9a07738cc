import type { Filling, Rectangles } from './skyline.ts';

// Nodes of the search before it gives up: a fraction of a second.
const NODES = 500_000;

/**
 * Rectangles into a strip without any waste, or undefined when depth-first search finds no such layout within its nodes:
 * at the lowest, then leftmost step of the skyline some rectangle must lie with its corner in the step's corner, because
 * nothing may stay empty. (The usual exact search for dissections; no one source.)
 * @param goesOn asked every thousand nodes
 */
export function perfectStrip(
  rects: Rectangles,
  lengthX: number,
  heightY: number,
  goesOn: () => boolean,
): Filling | undefined {
  const n = rects.sizeX.length;
  const eps = 1e-9 * Math.max(lengthX, heightY);
  const out: Filling = {
    x: new Float64Array(n),
    y: new Float64Array(n),
    bin: new Int32Array(n),
    isTurned: new Uint8Array(n),
    score: lengthX,
    bins: 1,
  };
  const used = new Uint8Array(n);
  const areas = Array.from({ length: n }, (_, i) => rects.sizeX[i]! * rects.sizeY[i]!);
  const order = areas.map((_, i) => i).sort((a, b) => areas[b]! - areas[a]! || a - b);
  // Steps of the skyline: y, depth along y, reach along x.
  let steps: readonly Step[] = [{ y: 0, depth: heightY, x: 0 }];
  let nodes = 0;
  let ended = false;

  const lay = (left: number): boolean => {
    if (left === 0) return true;
    if (++nodes > NODES || (nodes % 1000 === 0 && !goesOn())) ended = true;
    if (ended) return false;
    const at = steps.reduce((low, step, k) => (step.x < steps[low]!.x - eps ? k : low), 0);
    const { y, depth, x } = steps[at]!;
    const kept = steps;
    let lastX = -1;
    let lastY = -1;
    for (const i of order) {
      if (used[i] === 1) continue;
      for (let turn = 0; turn <= rects.mayTurn[i]!; turn++) {
        const sx = turn ? rects.sizeY[i]! : rects.sizeX[i]!;
        const sy = turn ? rects.sizeX[i]! : rects.sizeY[i]!;
        if (sy > depth + eps || x + sx > lengthX + eps || (turn === 1 && sx === sy)) continue;
        // Equal rectangles are tried once; areas keep them side by side.
        if (sx === lastX && sy === lastY) continue;
        lastX = sx;
        lastY = sy;
        used[i] = 1;
        steps = raised(kept, at, sx, sy, eps);
        out.x[i] = x;
        out.y[i] = y;
        out.isTurned[i] = turn;
        if (lay(left - 1)) return true;
        used[i] = 0;
        steps = kept;
        if (ended) return false;
      }
    }
    return false;
  };
  return lay(n) ? out : undefined;
}

type Step = Readonly<{ y: number; depth: number; x: number }>;

/** The skyline after a rectangle was laid into the low corner of a step; steps of one reach become one. */
function raised(steps: readonly Step[], at: number, sx: number, sy: number, eps: number): Step[] {
  const { y, depth, x } = steps[at]!;
  const laid: Step[] = [{ y, depth: Math.min(sy, depth), x: x + sx }];
  if (depth - sy > eps) laid.push({ y: y + sy, depth: depth - sy, x });
  const all = [...steps.slice(0, at), ...laid, ...steps.slice(at + 1)];
  const out: Step[] = [];
  for (const step of all) {
    const last = out.at(-1);
    if (last !== undefined && Math.abs(last.x - step.x) <= eps)
      out[out.length - 1] = { ...last, depth: last.depth + step.depth };
    else out.push(step);
  }
  return out;
}
