import { noFitConvex } from './minkowski.ts';

/**
 * Everything about shape b, turned, against shape a standing still at the origin, as a function of b's place t:
 * how deep they overlap (or stand nearer than the gap). The forbidden places are a union of convex polygons, one for each
 * pair of convex parts (no union is computed). A grid over them holds the depth to the edge of that union; in cells
 * that some polygon's edge crosses, the polygons themselves are asked, so the answer "no overlap" is exact.
 */
export type PairTable = Readonly<{
  x0: number;
  y0: number;
  perMm: number;
  cols: number;
  rows: number;
  gapMm: number;
  /** per cell: depth at its centre, negative outside */
  depthMm: Float32Array;
  /** per cell: polygons whose edge may cross it, cellPoly[cellStart[c]] … */
  cellStart: Int32Array;
  cellPoly: Int32Array;
  /** polygon p owns half-planes polyStart[p] … of plane (x, y of the outward normal, offset) and corner (x, y, length) */
  polyStart: Int32Array;
  plane: Float64Array;
  corner: Float64Array;
}>;

// A table of 48 × 48 depths is 9 kB, so that those of a dozen kinds stay in a processor's second cache.
const CELLS_ACROSS = 24;

export function buildPairTable(
  partsA: readonly Float64Array[],
  partsB: readonly Float64Array[],
  gapMm: number,
): PairTable {
  const { polyStart, plane, corner, box } = polygonsOf(partsA, partsB, gapMm);
  const cellMm = Math.max(box[2] - box[0], box[3] - box[1]) / CELLS_ACROSS;
  const cols = Math.ceil((box[2] - box[0]) / cellMm) + 2;
  const rows = Math.ceil((box[3] - box[1]) / cellMm) + 2;
  const table = {
    x0: box[0] - cellMm / 4,
    y0: box[1] - cellMm / 4,
    perMm: 1 / cellMm,
    cols,
    rows,
    gapMm,
    depthMm: new Float32Array(cols * rows).fill(-Infinity),
    cellStart: new Int32Array(cols * rows + 1),
    cellPoly: new Int32Array(0),
    polyStart,
    plane,
    corner,
  };
  const cellPoly = fillCells(table, cellMm);
  deepen(table.depthMm, cols, rows, cellMm);
  return { ...table, cellPoly };
}

function polygonsOf(
  partsA: readonly Float64Array[],
  partsB: readonly Float64Array[],
  gapMm: number,
): { polyStart: Int32Array; plane: Float64Array; corner: Float64Array; box: [number, number, number, number] } {
  const starts = [0];
  const planes: number[] = [];
  const corners: number[] = [];
  const box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const a of partsA) {
    for (const b of partsB) {
      const sum = noFitConvex(a, b);
      const n = sum.length / 2;
      for (let i = 0; i < n; i++) {
        const x = sum[2 * i]!;
        const y = sum[2 * i + 1]!;
        const ex = sum[(2 * i + 2) % (2 * n)]! - x;
        const ey = sum[(2 * i + 3) % (2 * n)]! - y;
        const length = Math.hypot(ex, ey);
        box[0] = Math.min(box[0], x - gapMm);
        box[1] = Math.min(box[1], y - gapMm);
        box[2] = Math.max(box[2], x + gapMm);
        box[3] = Math.max(box[3], y + gapMm);
        if (length === 0) continue;
        planes.push(ey / length, -ex / length, (ey * x - ex * y) / length);
        corners.push(x, y, length);
      }
      starts.push(planes.length / 3);
    }
  }
  return {
    polyStart: Int32Array.from(starts),
    plane: Float64Array.from(planes),
    corner: Float64Array.from(corners),
    box,
  };
}

/** Corners of all polygons of a table. */
export function cornersOf({ polyStart }: PairTable): number {
  return polyStart[polyStart.length - 1]!;
}

/** Places t (x, y pairs) where b just touches a, corner in corner: of gap 0 exactly, else moved out by the gap. */
export function touchingCorners(table: PairTable): Float64Array {
  const found: number[] = [];
  const place = new Float64Array(2);
  for (let e = 0; e < cornersOf(table); e++) if (touchingCorner(table, e, place)) found.push(place[0]!, place[1]!);
  return Float64Array.from(found);
}

/** The place that belongs to one corner; false when b would overlap a there. */
export function touchingCorner(table: PairTable, e: number, place: Float64Array): boolean {
  const { plane, corner, polyStart, gapMm } = table;
  let p = 0;
  for (let past = polyStart.length - 1; past - p > 1; ) {
    const middle = (p + past) >> 1;
    if (polyStart[middle]! <= e) p = middle;
    else past = middle;
  }
  const before = e === polyStart[p]! ? polyStart[p + 1]! - 1 : e - 1;
  const nx = plane[3 * before]! + plane[3 * e]!;
  const ny = plane[3 * before + 1]! + plane[3 * e + 1]!;
  const length = Math.hypot(nx, ny);
  const out = length === 0 || gapMm === 0 ? 0 : (gapMm * (1 + 1e-12)) / length;
  place[0] = corner[3 * e]! + nx * out;
  place[1] = corner[3 * e + 1]! + ny * out;
  return depthAt(table, place[0]!, place[1]!) <= 1e-9 / table.perMm;
}

/** Depths at cell centres, and which polygons must be asked in which cell. */
function fillCells(table: Omit<PairTable, 'cellPoly'>, cellMm: number): Int32Array {
  const { x0, y0, cols, rows, gapMm, depthMm, cellStart, polyStart, plane, corner } = table;
  const half = cellMm * Math.SQRT1_2 * 1.001;
  const covered = new Uint8Array(cols * rows);
  const asked: number[] = []; // cell, polygon
  for (let p = 0; p + 1 < polyStart.length; p++) {
    const from = polyStart[p]!;
    const to = polyStart[p + 1]!;
    let minX = Infinity;
    let minY = Infinity;
    let maxX = -Infinity;
    let maxY = -Infinity;
    for (let e = from; e < to; e++) {
      minX = Math.min(minX, corner[3 * e]!);
      maxX = Math.max(maxX, corner[3 * e]!);
      minY = Math.min(minY, corner[3 * e + 1]!);
      maxY = Math.max(maxY, corner[3 * e + 1]!);
    }
    const reach = gapMm + 2 * cellMm;
    const firstCol = Math.max(0, Math.floor((minX - reach - x0) / cellMm));
    const lastCol = Math.min(cols - 1, Math.floor((maxX + reach - x0) / cellMm));
    const firstRow = Math.max(0, Math.floor((minY - reach - y0) / cellMm));
    const lastRow = Math.min(rows - 1, Math.floor((maxY + reach - y0) / cellMm));
    for (let row = firstRow; row <= lastRow; row++) {
      const y = y0 + (row + 0.5) * cellMm;
      for (let col = firstCol; col <= lastCol; col++) {
        const cell = row * cols + col;
        if (covered[cell] === 1) continue;
        const x = x0 + (col + 0.5) * cellMm;
        let s = -Infinity;
        for (let e = from; e < to && s < reach; e++) {
          const value = plane[3 * e]! * x + plane[3 * e + 1]! * y - plane[3 * e + 2]!;
          if (value > s) s = value;
        }
        if (s > 0 && s < gapMm + half) s = distanceOutside(plane, corner, from, to, x, y);
        const depth = gapMm - s;
        if (depth > depthMm[cell]!) depthMm[cell] = depth;
        if (depth > half) covered[cell] = 1;
        else if (depth > -half) asked.push(cell, p);
      }
    }
  }
  return listCells(cellStart, covered, asked);
}

function listCells(cellStart: Int32Array, covered: Uint8Array, asked: readonly number[]): Int32Array {
  for (let k = 0; k < asked.length; k += 2) if (covered[asked[k]!] === 0) cellStart[asked[k]! + 1]!++;
  for (let c = 1; c < cellStart.length; c++) cellStart[c]! += cellStart[c - 1]!;
  const cellPoly = new Int32Array(cellStart[cellStart.length - 1]!);
  const fill = cellStart.slice();
  for (let k = 0; k < asked.length; k += 2) {
    if (covered[asked[k]!] === 0) cellPoly[fill[asked[k]!]!++] = asked[k + 1]!;
  }
  return cellPoly;
}

/** Distance from a point outside a convex polygon. */
function distanceOutside(
  plane: Float64Array,
  corner: Float64Array,
  from: number,
  to: number,
  x: number,
  y: number,
): number {
  let least = Infinity;
  for (let e = from; e < to; e++) {
    const nx = plane[3 * e]!;
    const ny = plane[3 * e + 1]!;
    const away = nx * x + ny * y - plane[3 * e + 2]!;
    if (away <= 0) continue;
    const along = -ny * (x - corner[3 * e]!) + nx * (y - corner[3 * e + 1]!);
    const beyond = along < 0 ? along : along > corner[3 * e + 2]! ? along - corner[3 * e + 2]! : 0;
    const squared = away * away + beyond * beyond;
    if (squared < least) least = squared;
  }
  return Math.sqrt(least);
}

/**
 * Inside the union the depth to its edge is more than the deepest single polygon says. Cells next to the outside keep
 * theirs; the others take the shortest way out over their neighbours (two sweeps of a chamfer distance, Borgefors 1986).
 */
function deepen(depthMm: Float32Array, cols: number, rows: number, cellMm: number): void {
  const far = new Float32Array(depthMm.length);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const cell = row * cols + col;
      const own = depthMm[cell]!;
      if (own <= 0) {
        far[cell] = own === -Infinity ? -4 * cellMm : own;
        continue;
      }
      let rim = row === 0 || col === 0 || row === rows - 1 || col === cols - 1;
      for (let dr = -1; dr <= 1 && !rim; dr++) {
        for (let dc = -1; dc <= 1; dc++) if (depthMm[cell + dr * cols + dc]! <= 0) rim = true;
      }
      far[cell] = rim ? own : Infinity;
    }
  }
  for (const way of [1, -1]) {
    for (let k = 0; k < far.length; k++) {
      const cell = way === 1 ? k : far.length - 1 - k;
      if (depthMm[cell]! <= 0) continue;
      const row = Math.floor(cell / cols);
      const col = cell - row * cols;
      let least = far[cell]!;
      const back = row - way;
      if (col - way >= 0 && col - way < cols) least = Math.min(least, Math.max(0, far[cell - way]!) + cellMm);
      if (back >= 0 && back < rows) {
        for (let dc = -1; dc <= 1; dc++) {
          if (col + dc < 0 || col + dc >= cols) continue;
          const step = dc === 0 ? cellMm : cellMm * Math.SQRT2;
          least = Math.min(least, Math.max(0, far[back * cols + col + dc]!) + step);
        }
      }
      far[cell] = least;
    }
  }
  for (let cell = 0; cell < far.length; cell++) {
    depthMm[cell] = depthMm[cell]! > 0 ? Math.max(far[cell]!, depthMm[cell]!) : far[cell]!;
  }
}

/** Depth of the overlap (or of the gap's violation) with b at t; 0 exactly when the gap is kept. */
export function depthAt(table: PairTable, tx: number, ty: number): number {
  const gx = (tx - table.x0) * table.perMm;
  const gy = (ty - table.y0) * table.perMm;
  if (!(gx > 0 && gy > 0 && gx < table.cols && gy < table.rows)) return 0;
  const col = gx | 0;
  const row = gy | 0;
  const cell = row * table.cols + col;
  const from = table.cellStart[cell]!;
  const to = table.cellStart[cell + 1]!;
  const centre = table.depthMm[cell]!;
  if (from === to) return centre > 0 ? between(table, gx, gy) : 0;
  const exact = deepest(table, from, to, tx, ty);
  if (exact <= 0) return 0;
  // Where seams of deep polygons meet, the single polygon's depth says little of the way out.
  return centre * table.perMm > 1.5 ? Math.max(exact, between(table, gx, gy)) : exact;
}

function deepest(table: PairTable, from: number, to: number, tx: number, ty: number): number {
  const { plane, corner, polyStart, cellPoly, gapMm } = table;
  let worst = 0;
  for (let k = from; k < to; k++) {
    const p = cellPoly[k]!;
    const last = polyStart[p + 1]!;
    const limit = gapMm - worst; // shallower than the worst so far: no matter
    let s = -Infinity;
    for (let e = polyStart[p]!; e < last; e++) {
      const value = plane[3 * e]! * tx + plane[3 * e + 1]! * ty - plane[3 * e + 2]!;
      if (value > s) {
        s = value;
        if (s >= limit) break;
      }
    }
    if (s >= limit) continue;
    if (s > 0) s = distanceOutside(plane, corner, polyStart[p]!, last, tx, ty);
    if (gapMm - s > worst) worst = gapMm - s;
  }
  return worst;
}

/** Depth between the centres of four cells. */
function between(table: PairTable, gx: number, gy: number): number {
  const { cols, rows, depthMm } = table;
  const x = Math.min(Math.max(gx - 0.5, 0), cols - 1.001);
  const y = Math.min(Math.max(gy - 0.5, 0), rows - 1.001);
  const col = x | 0;
  const row = y | 0;
  const fx = x - col;
  const fy = y - row;
  const cell = row * cols + col;
  const below = depthMm[cell]! * (1 - fx) + depthMm[cell + 1]! * fx;
  const above = depthMm[cell + cols]! * (1 - fx) + depthMm[cell + cols + 1]! * fx;
  const value = below * (1 - fy) + above * fy;
  return Math.max(value, 0.25 / table.perMm);
}
