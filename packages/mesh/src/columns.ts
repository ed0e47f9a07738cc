import type { Mesh } from '@stonehand/model';
import type { Bodies } from './bodies.ts';

/** The triangles of a body by square columns straight up: column c lists list[start[c]] … list[start[c + 1] − 1]. */
export type Columns = Readonly<{
  x0: number;
  y0: number;
  side: number;
  nx: number;
  ny: number;
  start: Uint32Array;
  list: Uint32Array;
}>;

const TRIANGLES_PER_COLUMN = 2;
const COLUMNS_PER_TRIANGLE = 8;
const MOST_PER_SIDE = 1024;

/** Sorts a body's triangles into every column that their boxes touch. */
export function columnsOf(mesh: Mesh, { boxes, start: bodyStart, list: all }: Bodies, body: number): Columns {
  const from = bodyStart[body];
  const to = bodyStart[body + 1];
  const o = 6 * body;
  const width = boxes[o + 3] - boxes[o];
  const depth = boxes[o + 4] - boxes[o + 1];
  const side = columnSide(mesh, all.subarray(from, to), Math.max(width, depth));
  const nx = Math.floor(width / side) + 1;
  const ny = Math.floor(depth / side) + 1;
  const grid = { x0: boxes[o], y0: boxes[o + 1], side, nx, ny };
  const start = new Uint32Array(nx * ny + 2);
  const visit = (triangle: number, put: (cell: number) => void): void => {
    const [a, b, c] = [0, 1, 2].map((k) => 3 * mesh.triangles[3 * triangle + k]);
    const { positions: p } = mesh;
    const low = columnAt(grid, Math.min(p[a], p[b], p[c]), Math.min(p[a + 1], p[b + 1], p[c + 1]));
    const high = columnAt(grid, Math.max(p[a], p[b], p[c]), Math.max(p[a + 1], p[b + 1], p[c + 1]));
    for (let i = Math.floor(low / ny); i <= Math.floor(high / ny); i++) {
      for (let j = low % ny; j <= high % ny; j++) put(i * ny + j);
    }
  };
  for (let i = from; i < to; i++) visit(all[i], (cell) => start[cell + 2]++);
  for (let cell = 2; cell < start.length; cell++) start[cell] += start[cell - 1];
  const list = new Uint32Array(start[nx * ny + 1]);
  for (let i = from; i < to; i++) {
    visit(all[i], (cell) => {
      list[start[cell + 1]++] = all[i];
    });
  }
  return { ...grid, start: start.subarray(0, nx * ny + 1), list };
}

/** About two triangles a column, but wider columns where long triangles would stand in too many of them. */
function columnSide({ positions: p, triangles }: Mesh, list: Uint32Array, extent: number): number {
  let widths = 0;
  let areas = 0;
  for (const t of list) {
    const [a, b, c] = [0, 1, 2].map((k) => 3 * triangles[3 * t + k]);
    const width = Math.max(p[a], p[b], p[c]) - Math.min(p[a], p[b], p[c]);
    const depth = Math.max(p[a + 1], p[b + 1], p[c + 1]) - Math.min(p[a + 1], p[b + 1], p[c + 1]);
    widths += width + depth;
    areas += width * depth;
  }
  let perSide = Math.min(MOST_PER_SIDE, Math.ceil(Math.sqrt(list.length / TRIANGLES_PER_COLUMN)));
  for (; perSide > 1; perSide = Math.ceil(perSide / 2)) {
    const side = extent / perSide;
    // A triangle of width w and depth d touches about (w / side + 1) · (d / side + 1) columns.
    if (areas / side ** 2 + widths / side + list.length <= COLUMNS_PER_TRIANGLE * list.length) break;
  }
  return extent / perSide || 1;
}

/** The column of a place inside the body's box; both ends of the box belong to it. Rising in x and y, so no triangle is missed. */
export function columnAt({ x0, y0, side, nx, ny }: Omit<Columns, 'start' | 'list'>, x: number, y: number): number {
  const i = Math.min(nx - 1, Math.max(0, Math.floor((x - x0) / side)));
  const j = Math.min(ny - 1, Math.max(0, Math.floor((y - y0) / side)));
  return i * ny + j;
}
