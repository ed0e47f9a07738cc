import type { Rings } from './rings.ts';

/** Most tries fail: only what holds is copied out. */
let scratch = new Float64Array(1 << 12);

/**
 * Moves every edge of clean rings by deltaMm (negative: inwards) and joins neighbours in a mitre, or in a bevel where the
 * mitre would reach farther than limit · |delta|. Nothing is clipped: the result is the true offset only when no edge turned round,
 * no edges cross and the rings still nest.
 * @returns undefined when an edge turned round
 */
export function mitreShift(rings: Rings, deltaMm: number, limit: number): Rings | undefined {
  const { xyMm: xy, ringStart } = rings;
  const ringTotal = ringStart.length - 1;
  if (scratch.length < 2 * xy.length) scratch = new Float64Array(4 * xy.length);
  const out = scratch;
  const outStart = new Uint32Array(ringTotal + 1);
  // 1 + cos of the turn at which a mitre of this limit ends: limit = 1/cos(turn/2), so 1 + cos = 2/limit².
  const sharpest = 2 / (limit * limit);
  let at = 0;
  for (let r = 0; r < ringTotal; r++) {
    const start = ringStart[r];
    const end = ringStart[r + 1];
    const first = at;
    // Unit normal (to the right of the direction) of the edge that arrives at point i.
    let px = xy[2 * start] - xy[2 * end - 2];
    let py = xy[2 * start + 1] - xy[2 * end - 1];
    let length = Math.sqrt(px * px + py * py);
    if (length === 0) return undefined;
    let nx = py / length;
    let ny = -px / length;
    // Where the arriving edge began in the output; for the first point it is known only at the end of the ring.
    let edgeFrom = -1;
    for (let i = start; i < end; i++) {
      const next = i + 1 === end ? start : i + 1;
      const x = xy[2 * i];
      const y = xy[2 * i + 1];
      px = xy[2 * next] - x;
      py = xy[2 * next + 1] - y;
      length = Math.sqrt(px * px + py * py);
      if (length === 0) return undefined;
      const mx = py / length;
      const my = -px / length;
      const bend = 1 + nx * mx + ny * my;
      if (bend < sharpest) {
        out[at] = x + nx * deltaMm;
        out[at + 1] = y + ny * deltaMm;
        if (edgeFrom >= 0 && turnedRound(out, edgeFrom, at, nx, ny)) return undefined;
        out[at + 2] = x + mx * deltaMm;
        out[at + 3] = y + my * deltaMm;
        edgeFrom = at + 2;
        at += 4;
      } else {
        const reach = deltaMm / bend;
        out[at] = x + (nx + mx) * reach;
        out[at + 1] = y + (ny + my) * reach;
        if (edgeFrom >= 0 && turnedRound(out, edgeFrom, at, nx, ny)) return undefined;
        edgeFrom = at;
        at += 2;
      }
      nx = mx;
      ny = my;
    }
    if (turnedRound(out, edgeFrom, first, nx, ny)) return undefined;
    outStart[r + 1] = at / 2;
  }
  return { xyMm: out.slice(0, at), ringStart: outStart };
}

/** Does the moved edge from → to run against the direction of the edge it came from (normal n, direction (−ny, nx))? */
function turnedRound(out: Float64Array, from: number, to: number, nx: number, ny: number): boolean {
  return (out[to] - out[from]) * -ny + (out[to + 1] - out[from + 1]) * nx < 0;
}
