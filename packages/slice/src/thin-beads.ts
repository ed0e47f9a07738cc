import type { BeadKind } from '@stonehand/model';
import { beadWidthMm } from './bead-section.ts';
import type { Bead } from './beads.ts';
import { type CentreLine, centreLines } from './centre-lines.ts';
import { islandsOf } from './islands.ts';
import type { BeadSize } from './perimeters.ts';
import type { Polygons } from './polygons.ts';
import { type Rings, ringCount, ringsAreaMm2, ringsLengthMm } from './rings.ts';

/** Gaps thinner than this share of a spacing get no bead of their own: no nozzle lays a bead of a third of its width (common practice, no source). */
export const LEAST_SHARE = 0.3;
/** The width is looked at this often along a line, and a new bead begins when it has changed by more than the step. */
const SAMPLE_MM = 0.5;
const WIDTH_STEP_MM = 0.05;

/** Single beads along the middle of places that are too thin for a pair, each as broad as the place is there. */
export function thinBeads(thin: Rings, kind: BeadKind, size: BeadSize, polygons: Polygons): Bead[] {
  if (ringCount(thin) === 0) return [];
  const leastMm = LEAST_SHARE * size.spacingMm;
  return islandsOf(thin).flatMap((place) => {
    if (!isWorthABead(place, leastMm, size)) return [];
    const beads = beadsIn(place, kind, size, polygons);
    if (beads !== undefined) return beads;
    // Outlines that touch themselves cannot be triangulated; without their necks they can.
    const opened = polygons.offset(polygons.offset(place, -leastMm / 2), leastMm / 2);
    return islandsOf(opened).flatMap((part) =>
      isWorthABead(part, leastMm, size) ? (beadsIn(part, kind, size, polygons) ?? []) : [],
    );
  });
}

/** Not a corner that a bevel cut off, nor a gap that is too narrow all along. */
function isWorthABead(place: Rings, leastMm: number, size: BeadSize): boolean {
  const areaMm2 = ringsAreaMm2(place);
  return areaMm2 >= leastMm * size.spacingMm && areaMm2 / ringsLengthMm(place) >= leastMm / 4;
}

/** undefined when the place has no triangulation to find the middle with. */
function beadsIn(place: Rings, kind: BeadKind, size: BeadSize, polygons: Polygons): Bead[] | undefined {
  const meanMm = (2 * ringsAreaMm2(place)) / ringsLengthMm(place);
  return centreLines(place, meanMm, polygons)?.flatMap((line) => beadsAlong(line, place, kind, size));
}

/** The line cut where the width changes; a place of even width gives one bead. */
function beadsAlong(line: CentreLine, place: Rings, kind: BeadKind, size: BeadSize): Bead[] {
  const { xy, gapMm } = sampled(line, place);
  const n = gapMm.length;
  const pieces: { from: number; to: number; gapMm: number }[] = [];
  let from = 0;
  let [low, high] = [gapMm[0], gapMm[0]];
  for (let i = 1; i < n; i++) {
    const [lower, higher] = [Math.min(low, gapMm[i]), Math.max(high, gapMm[i])];
    if (higher - lower > WIDTH_STEP_MM && i - from > 1) {
      pieces.push({ from, to: i, gapMm: evenGap(low, high) });
      from = i - 1;
      [low, high] = [Math.min(gapMm[i - 1], gapMm[i]), Math.max(gapMm[i - 1], gapMm[i])];
    } else [low, high] = [lower, higher];
  }
  pieces.push({ from, to: n, gapMm: evenGap(low, high) });
  const closed = line.closed && pieces.length === 1;
  const printable = pieces.filter((piece) => piece.gapMm >= LEAST_SHARE * size.spacingMm);
  return printable.map((piece): Bead => {
    // Broader than 1.6 spacings the place is no longer thin; what is wider there belongs to its ends.
    const gap = Math.min(piece.gapMm, 1.6 * size.spacingMm);
    const widthMm = beadWidthMm(gap * size.heightMm, size.heightMm);
    return { kind, closed, widthMm, xyMm: closed ? line.xyMm : corners(xy, piece.from, piece.to) };
  });
}

/** At a tip two samples may differ by more than a step: then the narrower one counts, so that the bead stays inside. */
const evenGap = (low: number, high: number): number => Math.min((low + high) / 2, low + WIDTH_STEP_MM / 2);

/** Points along the line at most SAMPLE_MM apart, with the width of the place at each: twice the distance to its outline. */
function sampled(line: CentreLine, place: Rings): { xy: number[]; gapMm: number[] } {
  const xy: number[] = [];
  const p = line.xyMm;
  const n = p.length / 2;
  for (let i = 0; i < (line.closed ? n : n - 1); i++) {
    const j = (i + 1) % n;
    const dx = p[2 * j] - p[2 * i];
    const dy = p[2 * j + 1] - p[2 * i + 1];
    const parts = Math.max(1, Math.ceil(Math.hypot(dx, dy) / SAMPLE_MM));
    for (let k = 0; k < parts; k++) xy.push(p[2 * i] + (dx * k) / parts, p[2 * i + 1] + (dy * k) / parts);
  }
  const last = line.closed ? 0 : n - 1;
  xy.push(p[2 * last], p[2 * last + 1]);
  const distance = outlineDistance(place);
  const gapMm: number[] = [];
  for (let i = 0; i < xy.length; i += 2) gapMm.push(2 * distance(xy[i], xy[i + 1]));
  return { xy, gapMm };
}

/** Edges in a row that share a box. */
const BLOCK_EDGES = 12;

/** Distance to the nearest edge of the rings. Rows of edges whose box is farther than the best so far are passed over. */
function outlineDistance({ xyMm: xy, ringStart }: Rings): (x: number, y: number) => number {
  const edges = new Float64Array(2 * xy.length);
  let n = 0;
  for (let r = 0; r < ringStart.length - 1; r++) {
    const end = ringStart[r + 1];
    for (let i = ringStart[r], j = end - 1; i < end; j = i++) {
      edges[n++] = xy[2 * j];
      edges[n++] = xy[2 * j + 1];
      edges[n++] = xy[2 * i];
      edges[n++] = xy[2 * i + 1];
    }
  }
  const stride = 4 * BLOCK_EDGES;
  const boxes: number[] = [];
  for (let from = 0; from < n; from += stride) {
    let [x0, y0, x1, y1] = [edges[from], edges[from + 1], edges[from], edges[from + 1]];
    for (let e = from; e < Math.min(from + stride, n); e += 2) {
      if (edges[e] < x0) x0 = edges[e];
      if (edges[e] > x1) x1 = edges[e];
      if (edges[e + 1] < y0) y0 = edges[e + 1];
      if (edges[e + 1] > y1) y1 = edges[e + 1];
    }
    boxes.push(x0, y0, x1, y1);
  }
  // Samples follow each other along a line, so the row that was nearest last time is looked at first.
  let last = 0;
  const nearest2 = (block: number, x: number, y: number, limit: number): number => {
    let best = limit;
    for (let e = block * stride; e < Math.min((block + 1) * stride, n); e += 4) {
      const dx = edges[e + 2] - edges[e];
      const dy = edges[e + 3] - edges[e + 1];
      const px = x - edges[e];
      const py = y - edges[e + 1];
      const length2 = dx * dx + dy * dy;
      const along = length2 > 0 ? Math.min(1, Math.max(0, (px * dx + py * dy) / length2)) : 0;
      const ex = px - along * dx;
      const ey = py - along * dy;
      const d = ex * ex + ey * ey;
      if (d < best) best = d;
    }
    return best;
  };
  return (x, y) => {
    let best = nearest2(last, x, y, Number.POSITIVE_INFINITY);
    for (let block = 0; 4 * block < boxes.length; block++) {
      const dx = Math.max(0, boxes[4 * block] - x, x - boxes[4 * block + 2]);
      const dy = Math.max(0, boxes[4 * block + 1] - y, y - boxes[4 * block + 3]);
      if (dx * dx + dy * dy >= best) continue;
      const d = nearest2(block, x, y, best);
      if (d < best) {
        best = d;
        last = block;
      }
    }
    return Math.sqrt(best);
  };
}

/** The samples from … to − 1 without those that lie straight between their neighbours. */
function corners(xy: readonly number[], from: number, to: number): Float64Array {
  const out: number[] = [];
  for (let i = from; i < to; i++) {
    const n = out.length;
    if (n >= 4) {
      const ax = out[n - 2] - out[n - 4];
      const ay = out[n - 1] - out[n - 3];
      const bx = xy[2 * i] - out[n - 2];
      const by = xy[2 * i + 1] - out[n - 1];
      // Samples divide straight pieces, so their products are zero but for rounding.
      if (Math.abs(ax * by - ay * bx) < 1e-9 && ax * bx + ay * by > 0) out.length = n - 2;
    }
    out.push(xy[2 * i], xy[2 * i + 1]);
  }
  return Float64Array.from(out);
}
