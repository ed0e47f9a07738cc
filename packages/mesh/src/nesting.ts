import type { Mesh } from '@stonehand/model';
import type { Bodies } from './bodies.ts';
import { windingAt } from './winding.ts';

/** Which bodies lie inside which, and which of them therefore face the wrong way. */
export type Nesting = Readonly<{
  /** the smallest body that holds this one wholly, −1 for none */
  holder: Int32Array;
  /** layers of material at the body's place without it: bodies that hold it and face outwards less those that face inwards */
  cover: Int32Array;
}>;

/** Only closed bodies hold others. A body is held when several of its corners spread over it are inside. */
export function nestingOf(mesh: Mesh, bodies: Bodies): Nesting {
  const holder = new Int32Array(bodies.count).fill(-1);
  const cover = new Int32Array(bodies.count);
  if (bodies.count < 2) return { holder, cover };
  for (let inner = 0; inner < bodies.count; inner++) {
    const corners = spreadCorners(mesh, bodies, inner);
    for (let outer = 0; outer < bodies.count; outer++) {
      if (outer === inner || bodies.closed[outer] === 0 || !boxHolds(bodies.boxes, outer, inner)) continue;
      if (!corners.every((vertex) => windingAt(mesh, bodies, outer, vertex) !== 0)) continue;
      cover[inner] += Math.sign(bodies.volume[outer]);
      const best = holder[inner];
      if (best < 0 || Math.abs(bodies.volume[outer]) < Math.abs(bodies.volume[best])) holder[inner] = outer;
    }
  }
  return { holder, cover };
}

/** Closed bodies that face the wrong way where they lie: inwards in the open, where only the walls of a hollow face inwards. */
export function insideOutBodies(bodies: Bodies, { cover }: Nesting): number[] {
  const wrong: number[] = [];
  for (let b = 0; b < bodies.count; b++) {
    if (bodies.closed[b] === 1 && bodies.volume[b] < 0 && cover[b] <= 0) wrong.push(b);
  }
  return wrong;
}

/** Closed bodies that lie wholly inside the material of another: their volume counts twice. */
export function swallowedBodies(bodies: Bodies, { cover }: Nesting): number[] {
  const twice: number[] = [];
  for (let b = 0; b < bodies.count; b++) {
    if (bodies.closed[b] === 1 && bodies.volume[b] > 0 && cover[b] > 0) twice.push(b);
  }
  return twice;
}

function spreadCorners({ triangles }: Mesh, { start, list }: Bodies, body: number): number[] {
  const from = start[body];
  const last = start[body + 1] - 1;
  const spread = [from, from + ((last - from) >> 1), last];
  return [...new Set(spread.map((i) => triangles[3 * list[i]]))];
}

function boxHolds(boxes: Float64Array, outer: number, inner: number): boolean {
  const o = 6 * outer;
  const i = 6 * inner;
  for (let k = 0; k < 3; k++) if (boxes[o + k] > boxes[i + k] || boxes[o + 3 + k] < boxes[i + 3 + k]) return false;
  return true;
}
