import type { Mesh } from '@stonehand/model';
import type { SupportFaces } from './support-faces.ts';

/** In cells: how many columns need no support after all, how many stand on the part, and the height that falls away. */
export type Columns = Readonly<{ dropped: number; standing: number; droppedMm: number }>;

/**
 * Follows a vertical ray through the middle of every grid cell under a face in need. Going up, a ray enters a body
 * through a face that looks down and leaves it through one that looks up; the count of bodies it is inside of tells
 * whether a face in need is open to the air, and where its column ends below. Two faces that share an edge decide which of
 * them a ray meets by the same rounded number, so no ray slips between them.
 */
export function sampleColumns(mesh: Mesh, faces: SupportFaces, cellMm: number, leastGapMm: number): Columns {
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
        }
      }
      inside++;
    }
  }
  return { dropped, standing, droppedMm };
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
    cell: new Int32Array(1 << 14),
    z: new Float64Array(1 << 14),
    kind: new Uint8Array(1 << 14),
    count: 0,
  };
  const { needs, xyz } = faces;
  for (let t = 0; t < needs.length; t++) if (needs[t] !== 0) raster(mesh.triangles, xyz, t, NEED, hits);
  hits.topMm.fill(0);
  for (let k = 0; k < hits.count; k++) {
    const cell = hits.cell[k];
    if (hits.z[k] > hits.topMm[cell]) hits.topMm[cell] = hits.z[k];
  }
  for (let t = 0; t < needs.length; t++) if (needs[t] === 0) raster(mesh.triangles, xyz, t, ENTER, hits);
  return hits;
}

/** Adds a hit for each cell whose middle lies in the shadow of triangle t. A face that looks up is left, whatever `kind`. */
function raster(triangles: Uint32Array, p: Float64Array, t: number, kind: number, hits: Hits): void {
  const { cellMm, columns, topMm } = hits;
  const va = triangles[3 * t];
  const vb = triangles[3 * t + 1];
  const vc = triangles[3 * t + 2];
  const ax = p[3 * va];
  const ay = p[3 * va + 1];
  const bx = p[3 * vb];
  const by = p[3 * vb + 1];
  const cx = p[3 * vc];
  const cy = p[3 * vc + 1];
  const firstRow = Math.ceil(Math.min(ay, by, cy) / cellMm - 0.5);
  const lastRow = Math.floor(Math.max(ay, by, cy) / cellMm - 0.5);
  const first = Math.ceil(Math.min(ax, bx, cx) / cellMm - 0.5);
  const last = Math.floor(Math.max(ax, bx, cx) / cellMm - 0.5);
  if (firstRow > lastRow || first > last) return;
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
    let inside = false;
    for (let column = first; column <= last; column++) {
      const cell = row * columns + column;
      const x = (column + 0.5) * cellMm;
      if (
        !within(va, vb, ax, ay, bx, by, x, y, up) ||
        !within(vb, vc, bx, by, cx, cy, x, y, up) ||
        !within(vc, va, cx, cy, ax, ay, x, y, up)
      ) {
        // The shadow is convex: once left, the rest of the row is outside.
        if (inside) break;
        continue;
      }
      inside = true;
      const z = Math.max(low, Math.min(high, az + slopeX * (x - ax) + slopeY * (y - ay)));
      if (z > topMm[cell]) continue;
      if (hits.count === hits.cell.length) grow(hits);
      hits.cell[hits.count] = cell;
      hits.z[hits.count] = z;
      hits.kind[hits.count++] = up ? LEAVE : kind;
    }
  }
}

/** Side of an edge, computed from its lower vertex to its higher one whichever triangle asks; on it counts as left. */
function within(
  i: number,
  j: number,
  ax: number,
  ay: number,
  bx: number,
  by: number,
  x: number,
  y: number,
  up: boolean,
): boolean {
  const left =
    i < j ? (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0 : (ax - bx) * (y - by) - (ay - by) * (x - bx) >= 0;
  return left === (i < j === up);
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
