import { loopArea } from './loop-measures.ts';
import type { Polygons } from './polygons.ts';
import { type Rings, ringCount, ringsAreaMm2 } from './rings.ts';
import { keepFarPoints, SIMPLIFY_MM } from './simplify-loops.ts';

export type CentreLine = Readonly<{ xyMm: Float64Array; closed: boolean }>;

/**
 * Lines along the middle of a narrow connected region: it is triangulated (constrained Delaunay) and the middles of the
 * triangles' inner edges are joined (the chordal axis; Prasad 1997, from memory). Between parallel sides those lie exactly on
 * the middle, however long the triangles are. Lines run to half a width before an end; branches shorter than the region is
 * wide are left out.
 * @returns undefined when the triangles do not add up to the region: its outline touches itself
 */
export function centreLines(place: Rings, widthMm: number, polygons: Polygons): CentreLine[] | undefined {
  const triangles = polygons.triangulate(place);
  if (!isTriangulationOf(triangles, place)) return undefined;
  const graph = chordGraph(triangles);
  const first = chainsOf(graph);
  const spurs = new Set(first.filter((c) => c.spur && openLength(c.line) < widthMm).flatMap((c) => c.links));
  const lines = spurs.size === 0 ? first : chainsOf({ ...graph, links: graph.links.filter((_, l) => !spurs.has(l)) });
  return (lines.length > 0 ? lines : first).map((c) => simplifiedLine(shortened(c, widthMm / 2)));
}

function isTriangulationOf(triangles: Rings, place: Rings): boolean {
  let sum = 0;
  for (let t = 0; t < ringCount(triangles); t++) {
    sum += Math.abs(loopArea(triangles.xyMm, triangles.ringStart[t], triangles.ringStart[t + 1]));
  }
  const areaMm2 = ringsAreaMm2(place);
  // The clipper's grid of 0.01 µm moves an outline of this size by far less.
  return Math.abs(sum - areaMm2) <= 1e-3 * areaMm2;
}

/** Nodes with x, y; links as pairs of nodes. */
type Graph = Readonly<{ xy: number[]; links: [number, number][] }>;

function chordGraph(triangles: Rings): Graph {
  const xy: number[] = [];
  const links: [number, number][] = [];
  const p = triangles.xyMm;
  const id = pointIds(p);
  const points = p.length / 2;
  const corner = (t: number, k: number): number => triangles.ringStart[t] + (k % 3);
  const key = (i: number, j: number): number => (id[i] < id[j] ? id[i] * points + id[j] : id[j] * points + id[i]);
  const uses = new Map<number, number>();
  const n = ringCount(triangles);
  for (let t = 0; t < n; t++) {
    for (let k = 0; k < 3; k++) {
      const edge = key(corner(t, k), corner(t, k + 1));
      uses.set(edge, (uses.get(edge) ?? 0) + 1);
    }
  }
  const nodeOfEdge = new Map<number, number>();
  for (let t = 0; t < n; t++) {
    const inner: number[] = [];
    for (let k = 0; k < 3; k++) {
      const i = corner(t, k);
      const j = corner(t, k + 1);
      const edge = key(i, j);
      if (uses.get(edge) !== 2) continue;
      let node = nodeOfEdge.get(edge);
      if (node === undefined) {
        node = xy.length / 2;
        nodeOfEdge.set(edge, node);
        xy.push((p[2 * i] + p[2 * j]) / 2, (p[2 * i + 1] + p[2 * j + 1]) / 2);
      }
      inner.push(node);
    }
    if (inner.length === 1) {
      // An end: on to the middle of the shorter of its two outer edges.
      const end = shorterOuterEdge(p, corner(t, 0), (i, j) => uses.get(key(i, j)) !== 2);
      links.push([inner[0], xy.length / 2]);
      xy.push(end[0], end[1]);
    }
    if (inner.length === 2) links.push([inner[0], inner[1]]);
    if (inner.length === 3) {
      const hub = xy.length / 2;
      const c = 2 * corner(t, 0);
      xy.push((p[c] + p[c + 2] + p[c + 4]) / 3, (p[c + 1] + p[c + 3] + p[c + 5]) / 3);
      for (const node of inner) links.push([node, hub]);
    }
  }
  return { xy, links };
}

/** The index of the first point with the same coordinates: corners of neighbouring triangles come as equal numbers. */
function pointIds(p: Float64Array): Uint32Array {
  const byX = new Map<number, Map<number, number>>();
  return Uint32Array.from({ length: p.length / 2 }, (_, i) => {
    let column = byX.get(p[2 * i]);
    if (column === undefined) {
      column = new Map();
      byX.set(p[2 * i], column);
    }
    const known = column.get(p[2 * i + 1]);
    if (known !== undefined) return known;
    column.set(p[2 * i + 1], i);
    return i;
  });
}

/** Middle of the shorter outer edge of the triangle with the corners first, first + 1, first + 2. */
function shorterOuterEdge(
  p: Float64Array,
  first: number,
  isOuter: (i: number, j: number) => boolean,
): [number, number] {
  let best: [number, number] = [0, 0];
  let shortest = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const i = first + k;
    const j = first + ((k + 1) % 3);
    const length = Math.hypot(p[2 * i] - p[2 * j], p[2 * i + 1] - p[2 * j + 1]);
    if (!isOuter(i, j) || length >= shortest) continue;
    shortest = length;
    best = [(p[2 * i] + p[2 * j]) / 2, (p[2 * i + 1] + p[2 * j + 1]) / 2];
  }
  return best;
}

type Chain = Readonly<{ line: number[]; links: number[]; spur: boolean; freeStart: boolean; freeEnd: boolean }>;

/** Walks the graph into lines between branchings and ends, and rings. */
function chainsOf(graph: Graph): Chain[] {
  const around: number[][] = Array.from({ length: graph.xy.length / 2 }, () => []);
  graph.links.forEach(([a, b], l) => {
    around[a].push(l);
    around[b].push(l);
  });
  const used = new Uint8Array(graph.links.length);
  const chains: Chain[] = [];
  const walk = (start: number, link: number): void => {
    const nodes = [start];
    const links: number[] = [];
    let at = start;
    let next = link;
    for (;;) {
      used[next] = 1;
      links.push(next);
      const [a, b] = graph.links[next];
      at = a === at ? b : a;
      nodes.push(at);
      if (at === start || around[at].length !== 2) break;
      next = around[at][0] === next ? around[at][1] : around[at][0];
    }
    const freeStart = around[start].length === 1;
    const freeEnd = around[at].length === 1;
    const line = nodes.flatMap((node) => [graph.xy[2 * node], graph.xy[2 * node + 1]]);
    chains.push({ line, links, spur: freeStart !== freeEnd, freeStart, freeEnd });
  };
  for (let pass = 0; pass < 2; pass++) {
    // First from ends and branchings; what is then left are rings.
    around.forEach((links, node) => {
      if (pass === 0 && links.length === 2) return;
      for (const link of links) if (!used[link]) walk(node, link);
    });
  }
  return chains;
}

/** Takes lengthMm off the free ends, as long as half of the line stays. */
function shortened({ line, freeStart, freeEnd }: Chain, lengthMm: number): number[] {
  const cutMm = Math.min(lengthMm, openLength(line) / 4);
  const fromStart = freeStart ? withoutStart(line, cutMm) : line;
  return freeEnd ? turnedLine(withoutStart(turnedLine(fromStart), cutMm)) : fromStart;
}

function withoutStart(line: number[], cutMm: number): number[] {
  let left = cutMm;
  for (let i = 0; i + 3 < line.length; i += 2) {
    const length = Math.hypot(line[i + 2] - line[i], line[i + 3] - line[i + 1]);
    if (length > left) {
      const share = left / length;
      const x = line[i] + share * (line[i + 2] - line[i]);
      const y = line[i + 1] + share * (line[i + 3] - line[i + 1]);
      return [x, y, ...line.slice(i + 2)];
    }
    left -= length;
  }
  return line;
}

function turnedLine(line: number[]): number[] {
  const out: number[] = [];
  for (let i = line.length - 2; i >= 0; i -= 2) out.push(line[i], line[i + 1]);
  return out;
}

function openLength(line: number[]): number {
  let sum = 0;
  for (let i = 2; i < line.length; i += 2) sum += Math.hypot(line[i] - line[i - 2], line[i + 1] - line[i - 1]);
  return sum;
}

function simplifiedLine(line: number[]): CentreLine {
  const xy = Float64Array.from(line);
  const n = xy.length / 2;
  const closed = n > 3 && xy[0] === xy[2 * n - 2] && xy[1] === xy[2 * n - 1];
  const keep = new Uint8Array(n);
  keep[0] = keep[n - 1] = 1;
  keepFarPoints(xy, 0, n - 1, SIMPLIFY_MM * SIMPLIFY_MM, keep);
  const out: number[] = [];
  for (let i = 0; i < (closed ? n - 1 : n); i++) if (keep[i]) out.push(xy[2 * i], xy[2 * i + 1]);
  return { xyMm: Float64Array.from(out), closed: closed && out.length >= 6 };
}
