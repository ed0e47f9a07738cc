/**
 * Directed edges strung to closed loops. Where several loops meet in a vertex, the walk takes the first edge clockwise from
 * where it came, which is the sharpest turn to the left: material on the left then stays with its own loop.
 * @param from, to ends of the edges; every vertex must be left as often as it is entered
 * @returns vertex lists, undefined when some vertex is not balanced
 */
export function traceLoops(
  from: readonly number[],
  to: readonly number[],
  point: (vertex: number) => readonly [number, number],
): number[][] | undefined {
  const leaving = new Map<number, number[]>();
  for (let e = 0; e < from.length; e++) {
    const edges = leaving.get(from[e]);
    if (edges === undefined) leaving.set(from[e], [e]);
    else edges.push(e);
  }
  const used = new Uint8Array(from.length);
  const loops: number[][] = [];
  for (let first = 0; first < from.length; first++) {
    if (used[first] === 1) continue;
    const loop: number[] = [];
    let edge = first;
    do {
      used[edge] = 1;
      loop.push(from[edge]);
      const next = nextEdge(edge, leaving.get(to[edge]) ?? [], used, first);
      if (next === undefined) return undefined;
      edge = next;
    } while (edge !== first);
    loops.push(loop);
  }
  return loops;

  function nextEdge(edge: number, choices: readonly number[], taken: Uint8Array, start: number): number | undefined {
    let best: number | undefined;
    let bestTurn = Infinity;
    const here = point(to[edge]);
    const back = angleTo(here, point(from[edge]));
    for (const choice of choices) {
      if (taken[choice] === 1 && choice !== start) continue;
      let clockwise = back - angleTo(here, point(to[choice]));
      while (clockwise <= 0) clockwise += 2 * Math.PI;
      if (clockwise < bestTurn) {
        bestTurn = clockwise;
        best = choice;
      }
    }
    return best;
  }
}

function angleTo(a: readonly [number, number], b: readonly [number, number]): number {
  return Math.atan2(b[1] - a[1], b[0] - a[0]);
}

/** Signed area, positive for counter-clockwise. */
export function loopAreaMm2(loop: readonly number[], point: (vertex: number) => readonly [number, number]): number {
  const [ox, oy] = point(loop[0]);
  let twice = 0;
  for (let i = 1; i + 1 < loop.length; i++) {
    const [ax, ay] = point(loop[i]);
    const [bx, by] = point(loop[i + 1]);
    twice += (ax - ox) * (by - oy) - (bx - ox) * (ay - oy);
  }
  return twice / 2;
}
