import { loopArea } from './loop-measures.ts';
import { type Rings, ringCount, windingAt } from './rings.ts';

const MAX_CELLS = 1 << 16;
/** Up to this many edges all pairs are compared. */
const FEW_EDGES = 32;
/** Far below the clipper's grid, far above the rounding of coordinates up to a metre. */
const ON_ONE_LINE_MM = 1e-9;

/** Finds crossing edges with a grid. Holds its scratch arrays, which grow with the largest layer seen. */
export class CrossingGrid {
  private head = new Int32Array(MAX_CELLS);
  private next = new Int32Array(1 << 16);
  private item = new Int32Array(1 << 16);
  private seen = new Int32Array(1 << 13);
  private ax = new Float64Array(1 << 13);
  private ay = new Float64Array(1 << 13);
  private bx = new Float64Array(1 << 13);
  private by = new Float64Array(1 << 13);
  private group = new Int32Array(1 << 13);
  private edges = 0;

  /** Does any edge of the rings cross another one? Neighbours in a ring share a point and are not compared. */
  selfCrossing(rings: Rings): boolean {
    this.edges = 0;
    this.addEdges(rings, 0);
    return this.anyCrossing(rings.ringStart);
  }

  /** Does any edge of a cross an edge of b? Edges that merely touch may count either way. */
  crossing(a: Rings, b: Rings): boolean {
    this.edges = 0;
    this.addEdges(a, 0);
    this.addEdges(b, 1);
    return this.anyCrossing(undefined);
  }

  private addEdges(rings: Rings, group: number): void {
    const { xyMm: xy, ringStart } = rings;
    const needed = this.edges + xy.length / 2;
    if (needed > this.ax.length) this.growEdges(2 * needed);
    let e = this.edges;
    for (let r = 0; r < ringStart.length - 1; r++) {
      const end = ringStart[r + 1];
      for (let i = ringStart[r]; i < end; i++) {
        const j = i + 1 === end ? ringStart[r] : i + 1;
        this.ax[e] = xy[2 * i];
        this.ay[e] = xy[2 * i + 1];
        this.bx[e] = xy[2 * j];
        this.by[e] = xy[2 * j + 1];
        this.group[e++] = group;
      }
    }
    this.edges = e;
  }

  private growEdges(size: number): void {
    for (const key of ['ax', 'ay', 'bx', 'by'] as const) {
      const larger = new Float64Array(size);
      larger.set(this[key]);
      this[key] = larger;
    }
    const group = new Int32Array(size);
    group.set(this.group);
    this.group = group;
    this.seen = new Int32Array(size);
  }

  /** ringStart: all edges are compared but neighbours of a ring; undefined: only edges of different groups. */
  private anyCrossing(ringStart: Uint32Array | undefined): boolean {
    const { edges, ax, ay, bx, by, group, seen } = this;
    if (edges <= FEW_EDGES) return this.anyCrossingOfFew(ringStart);
    let x0 = Number.POSITIVE_INFINITY;
    let y0 = Number.POSITIVE_INFINITY;
    let x1 = Number.NEGATIVE_INFINITY;
    let y1 = Number.NEGATIVE_INFINITY;
    for (let e = 0; e < edges; e++) {
      if (ax[e] < x0) x0 = ax[e];
      if (ax[e] > x1) x1 = ax[e];
      if (ay[e] < y0) y0 = ay[e];
      if (ay[e] > y1) y1 = ay[e];
    }
    const width = x1 - x0;
    const depth = y1 - y0;
    // About one edge a cell, at most 2000 cells along a side, never more cells than the table holds.
    const aimed = Math.sqrt((width * depth) / Math.max(16, Math.min(edges, MAX_CELLS / 4)));
    const cell = Math.max(aimed, Math.max(width, depth) / 2000, 1e-6);
    const perMm = 1 / cell;
    const nx = Math.floor(width * perMm) + 1;
    const ny = Math.floor(depth * perMm) + 1;
    if (nx * ny > this.head.length) this.head = new Int32Array(2 * nx * ny);
    const { head } = this;
    let { next, item } = this;
    head.fill(0, 0, nx * ny);
    seen.fill(-1, 0, edges);
    let used = 1;
    let ring = 0;
    for (let i = 0; i < edges; i++) {
      if (ringStart !== undefined) while (i >= ringStart[ring + 1]) ring++;
      const first = ringStart === undefined ? -1 : ringStart[ring];
      const last = ringStart === undefined ? -1 : ringStart[ring + 1] - 1;
      const px = ax[i];
      const py = ay[i];
      const dx = bx[i] - px;
      const dy = by[i] - py;
      const slack = ON_ONE_LINE_MM * (Math.abs(dx) + Math.abs(dy));
      let cx = Math.floor((px - x0) * perMm);
      let cy = Math.floor((py - y0) * perMm);
      const endX = Math.floor((bx[i] - x0) * perMm);
      const endY = Math.floor((by[i] - y0) * perMm);
      const stepX = dx > 0 ? 1 : -1;
      const stepY = dy > 0 ? 1 : -1;
      const perCellX = dx === 0 ? Number.POSITIVE_INFINITY : cell / Math.abs(dx);
      const perCellY = dy === 0 ? Number.POSITIVE_INFINITY : cell / Math.abs(dy);
      let nextX =
        dx === 0 ? Number.POSITIVE_INFINITY : Math.abs((dx > 0 ? (cx + 1) * cell : cx * cell) + x0 - px) / Math.abs(dx);
      let nextY =
        dy === 0 ? Number.POSITIVE_INFINITY : Math.abs((dy > 0 ? (cy + 1) * cell : cy * cell) + y0 - py) / Math.abs(dy);
      for (let steps = Math.abs(endX - cx) + Math.abs(endY - cy); ; steps--) {
        const g = cy * nx + cx;
        for (let k = head[g]; k !== 0; k = next[k]) {
          const j = item[k];
          if (seen[j] === i) continue;
          seen[j] = i;
          if (
            ringStart === undefined ? group[i] === group[j] : (j === i - 1 && j >= first) || (i === last && j === first)
          )
            continue;
          const d1 = dx * (ay[j] - py) - dy * (ax[j] - px);
          const d2 = dx * (by[j] - py) - dy * (bx[j] - px);
          if (d1 < slack && d1 > -slack && d2 < slack && d2 > -slack) {
            if (this.overlapping(i, j)) return true;
            continue;
          }
          if (d1 > 0 === d2 > 0) continue;
          const ex = bx[j] - ax[j];
          const ey = by[j] - ay[j];
          const d3 = ex * (py - ay[j]) - ey * (px - ax[j]);
          const d4 = ex * (py + dy - ay[j]) - ey * (px + dx - ax[j]);
          if (d3 > 0 !== d4 > 0) return true;
        }
        if (used >= next.length) {
          this.growItems();
          ({ next, item } = this);
        }
        item[used] = i;
        next[used] = head[g];
        head[g] = used++;
        if (steps <= 0) break;
        if (nextX < nextY) {
          cx += stepX;
          nextX += perCellX;
        } else {
          cy += stepY;
          nextY += perCellY;
        }
        if (cx < 0 || cy < 0 || cx >= nx || cy >= ny) break;
      }
    }
    return false;
  }

  /** All pairs: for a handful of edges the grid costs more than it saves. */
  private anyCrossingOfFew(ringStart: Uint32Array | undefined): boolean {
    const { edges, ax, ay, bx, by, group } = this;
    let ring = 0;
    for (let i = 0; i < edges; i++) {
      if (ringStart !== undefined) while (i >= ringStart[ring + 1]) ring++;
      const first = ringStart === undefined ? -1 : ringStart[ring];
      const last = ringStart === undefined ? -1 : ringStart[ring + 1] - 1;
      const dx = bx[i] - ax[i];
      const dy = by[i] - ay[i];
      const slack = ON_ONE_LINE_MM * (Math.abs(dx) + Math.abs(dy));
      for (let j = 0; j < i; j++) {
        if (
          ringStart === undefined ? group[i] === group[j] : (j === i - 1 && j >= first) || (i === last && j === first)
        ) {
          continue;
        }
        const d1 = dx * (ay[j] - ay[i]) - dy * (ax[j] - ax[i]);
        const d2 = dx * (by[j] - ay[i]) - dy * (bx[j] - ax[i]);
        if (d1 < slack && d1 > -slack && d2 < slack && d2 > -slack) {
          if (this.overlapping(i, j)) return true;
          continue;
        }
        if (d1 > 0 === d2 > 0) continue;
        const ex = bx[j] - ax[j];
        const ey = by[j] - ay[j];
        const d3 = ex * (ay[i] - ay[j]) - ey * (ax[i] - ax[j]);
        const d4 = ex * (by[i] - ay[j]) - ey * (bx[i] - ax[j]);
        if (d3 > 0 !== d4 > 0) return true;
      }
    }
    return false;
  }

  /** Two edges on one line: do they have more than a point in common? Then rings may change sides there without any crossing. */
  private overlapping(i: number, j: number): boolean {
    const { ax, ay, bx, by } = this;
    const steep = Math.abs(by[i] - ay[i]) > Math.abs(bx[i] - ax[i]);
    const [a, b] = steep ? [ay, by] : [ax, bx];
    const from = Math.max(Math.min(a[i], b[i]), Math.min(a[j], b[j]));
    return Math.min(Math.max(a[i], b[i]), Math.max(a[j], b[j])) - from > ON_ONE_LINE_MM;
  }

  private growItems(): void {
    for (const key of ['next', 'item'] as const) {
      const larger = new Int32Array(2 * this[key].length);
      larger.set(this[key]);
      this[key] = larger;
    }
  }
}

/**
 * Do rings without crossings nest: outer rings with nothing around them or inside a hole, holes inside material?
 * Without this test a hole that has passed its outer ring looks like a good offset (0.3 % of a ribbed part's third
 * perimeter was wrong).
 */
export function nested(rings: Rings): boolean {
  const n = ringCount(rings);
  if (n === 1) return loopArea(rings.xyMm, 0, rings.ringStart[1]) > 0;
  for (let r = 0; r < n; r++) {
    const start = rings.ringStart[r];
    const end = rings.ringStart[r + 1];
    let left = start;
    for (let i = start + 1; i < end; i++) if (rings.xyMm[2 * i] < rings.xyMm[2 * left]) left = i;
    const area = loopArea(rings.xyMm, start, end);
    // Around its leftmost point the ring itself counts 0 just outside, so what is left is what the others make there.
    const around = windingAt(rings, rings.xyMm[2 * left], rings.xyMm[2 * left + 1]) - ownWinding(rings, r, left);
    if (around !== (area > 0 ? 0 : 1)) return false;
  }
  return true;
}

/** What ring r adds to windingAt for one of its own points: depends on which side rounding puts it, so it is taken off. */
function ownWinding(rings: Rings, r: number, point: number): number {
  const own = {
    xyMm: rings.xyMm.subarray(2 * rings.ringStart[r], 2 * rings.ringStart[r + 1]),
    ringStart: Uint32Array.of(0, rings.ringStart[r + 1] - rings.ringStart[r]),
  };
  return windingAt(own, rings.xyMm[2 * point], rings.xyMm[2 * point + 1]);
}

/** Does clean `outer` cover clean `inner` wholly? May say no where they touch, never yes where they do not cover. */
export function covers(outer: Rings, inner: Rings, grid: CrossingGrid): boolean {
  if (ringCount(inner) === 0) return true;
  if (ringCount(outer) === 0 || grid.crossing(outer, inner)) return false;
  for (let r = 0; r < ringCount(inner); r++) {
    const i = 2 * inner.ringStart[r];
    if (windingAt(outer, inner.xyMm[i], inner.xyMm[i + 1]) === 0) return false;
  }
  // No crossing and every inner ring inside: only a hole of outer in the midst of inner is left.
  for (let r = 0; r < ringCount(outer); r++) {
    if (loopArea(outer.xyMm, outer.ringStart[r], outer.ringStart[r + 1]) > 0) continue;
    const i = 2 * outer.ringStart[r];
    if (windingAt(inner, outer.xyMm[i], outer.xyMm[i + 1]) !== 0) return false;
  }
  return true;
}
