import type { Mesh } from '@stonehand/model';
import type { SupportFaces } from './support-faces.ts';

/** columns of the grid; in cells: how many columns need no support after all, how many stand on the part, and the height that falls away. */
export type Columns = Readonly<{ dropped: number; standing: number; droppedMm: number; columns: number }>;

/** The columns that stay: cell is row · columns + column of the grid, then where each begins and ends. */
export type ColumnSpans = Readonly<{ cell: number[]; fromMm: number[]; toMm: number[] }>;

/**
 * Follows a vertical ray through the middle of every grid cell under a face in need. Going up, a ray enters a body
 * through a face that looks down and leaves it through one that looks up; the count of bodies it is inside of tells
 * whether a face in need is open to the air, and where its column ends below. Two faces that share an edge decide which of
 * them a ray meets by the same rounded number, so no ray slips between them.
 */
export function sampleColumns(
  mesh: Mesh,
  faces: SupportFaces,
  cellMm: number,
  leastGapMm: number,
  spans?: ColumnSpans,
): Columns {
  const hits = castRays(mesh, faces, cellMm);
  const sorted = sortByCell(hits);
  let dropped = 0;
  let standing = 0;
  let droppedMm = 0;
  for (let cell = 0; cell + 1 < sorted.start.length; cell++) {
    const from = sorted.start[cell];
    const to = sorted.start[cell + 1];
    if (from === to) continue;
    sortColumn(sorted, from, to);
    let inside = 0;
    let floorMm = 0;
    let onPart = false;
    for (let k = from; k < to; k++) {
      const z = sorted.z[k];
      if (sorted.kind[k] === LEAVE) {
        inside = Math.max(0, inside - 1);
        if (inside === 0) {
          floorMm = z;
          onPart = true;
        }
        continue;
      }
      if (sorted.kind[k] === NEED) {
        if (inside > 0 || z - floorMm < leastGapMm) {
          dropped++;
          droppedMm += z;
        } else {
          droppedMm += floorMm;
          if (onPart) standing++;
          if (spans !== undefined) {
            spans.cell.push(cell);
            spans.fromMm.push(floorMm);
            spans.toMm.push(z);
          }
        }
      }
      inside++;
    }
  }
  return { dropped, standing, droppedMm, columns: hits.columns };
}

// In this order at equal height: a body that begins where another ends leaves no gap.
const ENTER = 0;
const NEED = 1;
const LEAVE = 2;

/**
 * Where rays meet faces, growing. topMm: the highest face in need above each cell, 0 where there is none; what lies above
 * it does not matter. Written to directly: a callback for each hit would box its height (measured: half the time).
 */
type Hits = {
  readonly columns: number;
  readonly cellMm: number;
  readonly topMm: Float64Array;
  /** the first cell from here on that matters: all of them at first, then those under a face in need */
  readonly nextCell: Int32Array;
  cell: Int32Array;
  z: Float64Array;
  kind: Uint8Array;
  count: number;
};

function castRays(mesh: Mesh, faces: SupportFaces, cellMm: number): Hits {
  const columns = Math.ceil(faces.widthMm / cellMm) + 1;
  const rows = Math.ceil(faces.depthMm / cellMm) + 1;
  const hits: Hits = {
    columns,
    cellMm,
    topMm: new Float64Array(columns * rows).fill(Infinity),
    // Two more: a span may end on the last cell, and looks one on from there.
    nextCell: new Int32Array(columns * rows + 2),
    cell: new Int32Array(1 << 14),
    z: new Float64Array(1 << 14),
    kind: new Uint8Array(1 << 14),
    count: 0,
  };
  const { needs, xyz } = faces;
  const { nextCell, topMm } = hits;
  for (let cell = 0; cell < nextCell.length; cell++) nextCell[cell] = cell;
  for (let t = 0; t < needs.length; t++) if (needs[t] !== 0) raster(mesh.triangles, xyz, t, NEED, hits);
  topMm.fill(0);
  for (let k = 0; k < hits.count; k++) {
    const cell = hits.cell[k];
    if (hits.z[k] > topMm[cell]) topMm[cell] = hits.z[k];
  }
  for (let cell = columns * rows - 1; cell >= 0; cell--) {
    if (topMm[cell] === 0) nextCell[cell] = nextCell[cell + 1];
  }
  for (let t = 0; t < needs.length; t++) if (needs[t] === 0) raster(mesh.triangles, xyz, t, ENTER, hits);
  return hits;
}

/**
 * Adds a hit for each cell whose middle lies in the shadow of triangle t. A face that looks up is left, whatever `kind`.
 * Row by row: where an edge crosses the row is computed from its lower vertex to its higher one whichever triangle asks, and
 * a span goes from one crossing up to, not including, the other, so neighbours share out the cells between them.
 */
function raster(triangles: Uint32Array, p: Float64Array, t: number, kind: number, hits: Hits): void {
  const { cellMm, columns, topMm, nextCell } = hits;
  const va = triangles[3 * t];
  const vb = triangles[3 * t + 1];
  const vc = triangles[3 * t + 2];
  const ax = p[3 * va];
  const ay = p[3 * va + 1];
  const bx = p[3 * vb];
  const by = p[3 * vb + 1];
  const cx = p[3 * vc];
  const cy = p[3 * vc + 1];
  const lowY = Math.min(ay, by, cy);
  const highY = Math.max(ay, by, cy);
  const firstRow = Math.ceil(lowY / cellMm - 0.5);
  const lastRow = Math.floor(highY / cellMm - 0.5);
  if (firstRow > lastRow) return;
  const lowX = Math.min(ax, bx, cx);
  const highX = Math.max(ax, bx, cx);
  if (Math.ceil(lowX / cellMm - 0.5) > Math.floor(highX / cellMm - 0.5)) return;
  const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
  if (area === 0) return;
  const up = area > 0;
  const az = p[3 * va + 2];
  const bz = p[3 * vb + 2];
  const cz = p[3 * vc + 2];
  const low = Math.min(az, bz, cz);
  const high = Math.max(az, bz, cz);
  const slopeX = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) / area;
  const slopeY = ((cz - az) * (bx - ax) - (bz - az) * (cx - ax)) / area;
  for (let row = firstRow; row <= lastRow; row++) {
    const y = (row + 0.5) * cellMm;
    let left = Infinity;
    let right = -Infinity;
    if (ay <= y !== by <= y) {
      const x = va < vb ? crossing(ax, ay, bx, by, y) : crossing(bx, by, ax, ay, y);
      if (x < left) left = x;
      if (x > right) right = x;
    }
    if (by <= y !== cy <= y) {
      const x = vb < vc ? crossing(bx, by, cx, cy, y) : crossing(cx, cy, bx, by, y);
      if (x < left) left = x;
      if (x > right) right = x;
    }
    if (cy <= y !== ay <= y) {
      const x = vc < va ? crossing(cx, cy, ax, ay, y) : crossing(ax, ay, cx, cy, y);
      if (x < left) left = x;
      if (x > right) right = x;
    }
    const from = Math.ceil(left / cellMm - 0.5);
    const to = Math.ceil(right / cellMm - 0.5);
    const end = row * columns + to;
    for (let cell = nextCell[row * columns + from]; cell < end; cell = nextCell[cell + 1]) {
      const x = (cell - row * columns + 0.5) * cellMm;
      const flat = az + slopeX * (x - ax) + slopeY * (y - ay);
      const z = Math.min(high, Math.max(low, flat));
      if (z > topMm[cell]) continue;
      if (hits.count === hits.cell.length) grow(hits);
      hits.cell[hits.count] = cell;
      hits.z[hits.count] = z;
      hits.kind[hits.count++] = up ? LEAVE : kind;
    }
  }
}

function crossing(ax: number, ay: number, bx: number, by: number, y: number): number {
  return ax + ((y - ay) / (by - ay)) * (bx - ax);
}

function sortByCell(hits: Hits): { start: Uint32Array; z: Float64Array; kind: Uint8Array } {
  const cells = hits.topMm.length;
  const start = new Uint32Array(cells + 1);
  for (let k = 0; k < hits.count; k++) start[hits.cell[k] + 1]++;
  for (let c = 0; c < cells; c++) start[c + 1] += start[c];
  const next = start.slice();
  const z = new Float64Array(hits.count);
  const kind = new Uint8Array(hits.count);
  for (let k = 0; k < hits.count; k++) {
    const at = next[hits.cell[k]]++;
    z[at] = hits.z[k];
    kind[at] = hits.kind[k];
  }
  return { start, z, kind };
}

function sortColumn({ z, kind }: { z: Float64Array; kind: Uint8Array }, from: number, to: number): void {
  for (let i = from + 1; i < to; i++) {
    const zi = z[i];
    const ki = kind[i];
    let j = i - 1;
    while (j >= from && (z[j] > zi || (z[j] === zi && kind[j] > ki))) {
      z[j + 1] = z[j];
      kind[j + 1] = kind[j];
      j--;
    }
    z[j + 1] = zi;
    kind[j + 1] = ki;
  }
}

function grow(hits: Hits): void {
  const size = 2 * hits.cell.length;
  const cell = new Int32Array(size);
  const z = new Float64Array(size);
  const kind = new Uint8Array(size);
  cell.set(hits.cell);
  z.set(hits.z);
  kind.set(hits.kind);
  hits.cell = cell;
  hits.z = z;
  hits.kind = kind;
}
