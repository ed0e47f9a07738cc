import type { Mesh } from '@stonehand/model';
import type { Bodies } from './bodies.ts';
import { type Columns, columnAt, columnsOf } from './columns.ts';
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
  for (let outer = 0; outer < bodies.count; outer++) {
    if (bodies.closed[outer] === 0) continue;
    const within = bodiesInBox(bodies, outer);
    const columns = worthColumns(bodies, outer, within.length) ? columnsOf(mesh, bodies, outer) : undefined;
    for (const inner of within) {
      if (!spreadCorners(mesh, bodies, inner).every((v) => windsRound(mesh, bodies, outer, v, columns))) continue;
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

function bodiesInBox({ boxes, count }: Bodies, outer: number): number[] {
  const within: number[] = [];
  for (let b = 0; b < count; b++) if (b !== outer && boxHolds(boxes, outer, b)) within.push(b);
  return within;
}

const MANY_STEPS = 2_000_000; // about what it costs to sort a large body's triangles into columns

/** A scan may have thousands of specks in the box of a body of a million triangles. */
function worthColumns({ start }: Bodies, outer: number, within: number): boolean {
  return within * (start[outer + 1] - start[outer]) > MANY_STEPS;
}

function windsRound(mesh: Mesh, bodies: Bodies, outer: number, vertex: number, columns: Columns | undefined): boolean {
  if (columns === undefined) {
    return windingAt(mesh, bodies.list, bodies.start[outer], bodies.start[outer + 1], vertex) !== 0;
  }
  const cell = columnAt(columns, mesh.positions[3 * vertex], mesh.positions[3 * vertex + 1]);
  return windingAt(mesh, columns.list, columns.start[cell], columns.start[cell + 1], vertex) !== 0;
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
