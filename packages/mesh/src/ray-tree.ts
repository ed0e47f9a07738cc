import type { Mesh, Vec3 } from '@stonehand/model';
import { boundingBox } from './bounding-box.ts';
import { KERNEL_FROM_TRIANGLES, type KernelOption } from './kernel.ts';
import { treeByKernel } from './ray-tree-kernel.ts';

/**
 * Boxes in boxes round the triangles of a mesh, for rays. Flat arrays of single precision about the middle of the mesh's box:
 * a thickness is a measure, not a verdict, and one kind of array keeps the loops fast for every mesh.
 * Node n has its box in boxes[6·n …] (least x y z, most x y z); the two children of an inner node stand side by side.
 */
export type RayTree = Readonly<{
  middle: Vec3;
  boxes: Float32Array;
  /** inner node: number of its first child; leaf: −1 − (first triangle place) */
  link: Int32Array;
  /** triangles of a leaf, 0 for an inner node */
  size: Uint8Array;
  /** place → triangle of the mesh */
  order: Uint32Array;
  /** nine coordinates per place: first corner, and from it the two sides */
  corners: Float32Array;
}>;

const BINS = 16; // 8, 12, 16 and 24 tried: see DECISIONS.md
const LEAF = 4;

/**
 * Builds by the surface area heuristic over bins (Wald 2007, "On fast construction of SAH-based bounding volume hierarchies").
 * Time n log n; the same mesh always gives the same tree.
 */
export function rayTree(mesh: Mesh, { kernel }: KernelOption = {}): RayTree {
  const { min, max } = boundingBox(mesh);
  const middle: Vec3 = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
  const byKernel = kernel ?? mesh.triangles.length >= 3 * KERNEL_FROM_TRIANGLES;
  return (byKernel ? treeByKernel(mesh, middle) : undefined) ?? treePlainly(mesh, middle);
}

function treePlainly(mesh: Mesh, middle: Vec3): RayTree {
  const count = mesh.triangles.length / 3;
  const soup = centredSoup(mesh, middle);
  const bounds = soupBounds(soup, count);
  const order = new Uint32Array(count);
  for (let t = 0; t < count; t++) order[t] = t;
  const boxes = new Float32Array(12 * Math.max(count, 1));
  const link = new Int32Array(2 * Math.max(count, 1));
  const size = new Uint8Array(2 * Math.max(count, 1));
  const nodes = split(bounds, order, boxes, link, size);
  return {
    middle,
    boxes: boxes.slice(0, 6 * nodes),
    link: link.slice(0, nodes),
    size: size.slice(0, nodes),
    order,
    corners: cornersInOrder(soup, order),
  };
}

function centredSoup({ positions, triangles, originMm }: Mesh, middle: Vec3): Float32Array {
  const centred = new Float32Array(positions.length);
  for (let k = 0; k < 3; k++) {
    const shift = originMm[k] - middle[k];
    for (let o = k; o < centred.length; o += 3) centred[o] = positions[o] + shift;
  }
  const soup = new Float32Array(3 * triangles.length);
  for (let h = 0, o = 0; h < triangles.length; h++, o += 3) {
    const v = 3 * triangles[h];
    soup[o] = centred[v];
    soup[o + 1] = centred[v + 1];
    soup[o + 2] = centred[v + 2];
  }
  return soup;
}

function soupBounds(soup: Float32Array, count: number): Float32Array {
  const bounds = new Float32Array(6 * count);
  for (let o = 0, s = 0; o < bounds.length; o += 6, s += 9) {
    for (let k = 0; k < 3; k++) {
      const a = soup[s + k];
      const b = soup[s + 3 + k];
      const c = soup[s + 6 + k];
      bounds[o + k] = Math.min(a, b, c);
      bounds[o + 3 + k] = Math.max(a, b, c);
    }
  }
  return bounds;
}

function cornersInOrder(soup: Float32Array, order: Uint32Array): Float32Array {
  const corners = new Float32Array(soup.length);
  for (let i = 0, o = 0; i < order.length; i++, o += 9) {
    const s = 9 * order[i];
    for (let k = 0; k < 3; k++) {
      const a = soup[s + k];
      corners[o + k] = a;
      corners[o + 3 + k] = soup[s + 3 + k] - a;
      corners[o + 6 + k] = soup[s + 6 + k] - a;
    }
  }
  return corners;
}

/** Splits depth first with an explicit stack; returns the number of nodes. */
function split(
  bounds: Float32Array,
  order: Uint32Array,
  boxes: Float32Array,
  link: Int32Array,
  size: Uint8Array,
): number {
  const stack: number[] = [0, 0, order.length];
  const bins = makeBins();
  const centres = new Float64Array(6);
  let nodes = 1;
  while (stack.length > 0) {
    const to = stack.pop()!;
    const from = stack.pop()!;
    const node = stack.pop()!;
    measure(bounds, order, from, to, boxes, 6 * node, centres);
    const axis = longest(centres);
    const extent = centres[axis + 3] - centres[axis];
    // Boxes that all have one centre cannot be told apart by it: halve the list.
    let at = (from + to) >> 1;
    if (to - from <= LEAF) at = from;
    else if (extent > 0) at = partition(bounds, order, from, to, axis, centres[axis], extent, bins);
    if (at === from && to - from <= LARGEST_LEAF) {
      link[node] = -1 - from;
      size[node] = to - from;
      continue;
    }
    if (at === from || at === to) at = (from + to) >> 1;
    link[node] = nodes;
    stack.push(nodes + 1, at, to, nodes, from, at);
    nodes += 2;
  }
  return nodes;
}

const LARGEST_LEAF = 255;

function measure(
  bounds: Float32Array,
  order: Uint32Array,
  from: number,
  to: number,
  boxes: Float32Array,
  at: number,
  centres: Float64Array,
): void {
  let x0 = Infinity;
  let y0 = Infinity;
  let z0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  let z1 = -Infinity;
  let cx0 = Infinity;
  let cy0 = Infinity;
  let cz0 = Infinity;
  let cx1 = -Infinity;
  let cy1 = -Infinity;
  let cz1 = -Infinity;
  for (let i = from; i < to; i++) {
    const o = 6 * order[i];
    const lx = bounds[o];
    const ly = bounds[o + 1];
    const lz = bounds[o + 2];
    const hx = bounds[o + 3];
    const hy = bounds[o + 4];
    const hz = bounds[o + 5];
    if (lx < x0) x0 = lx;
    if (ly < y0) y0 = ly;
    if (lz < z0) z0 = lz;
    if (hx > x1) x1 = hx;
    if (hy > y1) y1 = hy;
    if (hz > z1) z1 = hz;
    const cx = lx + hx;
    const cy = ly + hy;
    const cz = lz + hz;
    if (cx < cx0) cx0 = cx;
    if (cy < cy0) cy0 = cy;
    if (cz < cz0) cz0 = cz;
    if (cx > cx1) cx1 = cx;
    if (cy > cy1) cy1 = cy;
    if (cz > cz1) cz1 = cz;
  }
  boxes[at] = x0;
  boxes[at + 1] = y0;
  boxes[at + 2] = z0;
  boxes[at + 3] = x1;
  boxes[at + 4] = y1;
  boxes[at + 5] = z1;
  centres[0] = cx0;
  centres[1] = cy0;
  centres[2] = cz0;
  centres[3] = cx1;
  centres[4] = cy1;
  centres[5] = cz1;
}

function longest(centres: Float64Array): number {
  const x = centres[3] - centres[0];
  const y = centres[4] - centres[1];
  const z = centres[5] - centres[2];
  return x >= y && x >= z ? 0 : y >= z ? 1 : 2;
}

type Bins = Readonly<{ counts: Uint32Array; boxes: Float32Array; costs: Float64Array }>;

function makeBins(): Bins {
  return { counts: new Uint32Array(BINS), boxes: new Float32Array(6 * BINS), costs: new Float64Array(BINS) };
}

/** Puts the triangles of the cheapest split's left side first; returns where the right side begins. */
function partition(
  bounds: Float32Array,
  order: Uint32Array,
  from: number,
  to: number,
  axis: number,
  low: number,
  extent: number,
  bins: Bins,
): number {
  const scale = (BINS * (1 - 2 ** -20)) / extent; // just below, so that the last centre falls into the last bin
  fillBins(bounds, order, from, to, axis, low, scale, bins);
  const best = cheapestBin(bins);
  let i = from;
  let j = to;
  while (i < j) {
    const t = order[i];
    const bin = ((bounds[6 * t + axis] + bounds[6 * t + 3 + axis] - low) * scale) | 0;
    if (bin < best) i++;
    else {
      j--;
      order[i] = order[j];
      order[j] = t;
    }
  }
  return i;
}

function fillBins(
  bounds: Float32Array,
  order: Uint32Array,
  from: number,
  to: number,
  axis: number,
  low: number,
  scale: number,
  { counts, boxes }: Bins,
): void {
  counts.fill(0);
  for (let o = 0; o < boxes.length; o += 6) {
    boxes[o] = boxes[o + 1] = boxes[o + 2] = Infinity;
    boxes[o + 3] = boxes[o + 4] = boxes[o + 5] = -Infinity;
  }
  for (let i = from; i < to; i++) {
    const t = 6 * order[i];
    const bin = ((bounds[t + axis] + bounds[t + 3 + axis] - low) * scale) | 0;
    const o = 6 * bin;
    counts[bin]++;
    if (bounds[t] < boxes[o]) boxes[o] = bounds[t];
    if (bounds[t + 1] < boxes[o + 1]) boxes[o + 1] = bounds[t + 1];
    if (bounds[t + 2] < boxes[o + 2]) boxes[o + 2] = bounds[t + 2];
    if (bounds[t + 3] > boxes[o + 3]) boxes[o + 3] = bounds[t + 3];
    if (bounds[t + 4] > boxes[o + 4]) boxes[o + 4] = bounds[t + 4];
    if (bounds[t + 5] > boxes[o + 5]) boxes[o + 5] = bounds[t + 5];
  }
}

/** The bin that begins the right side: least (area · triangles) of both sides together; the first of equals. */
function cheapestBin({ counts, boxes, costs }: Bins): number {
  sweep(counts, boxes, costs, BINS - 1, -1);
  let best = Infinity;
  let at = 1;
  let x0 = Infinity;
  let y0 = Infinity;
  let z0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  let z1 = -Infinity;
  let count = 0;
  for (let bin = 0; bin < BINS - 1; bin++) {
    const o = 6 * bin;
    count += counts[bin];
    if (counts[bin] > 0) {
      x0 = Math.min(x0, boxes[o]);
      y0 = Math.min(y0, boxes[o + 1]);
      z0 = Math.min(z0, boxes[o + 2]);
      x1 = Math.max(x1, boxes[o + 3]);
      y1 = Math.max(y1, boxes[o + 4]);
      z1 = Math.max(z1, boxes[o + 5]);
    }
    const left = count === 0 ? Infinity : count * halfArea(x1 - x0, y1 - y0, z1 - z0);
    const cost = left + costs[bin + 1];
    if (cost < best) {
      best = cost;
      at = bin + 1;
    }
  }
  return at;
}

/** Cost of everything from each bin to the last. */
function sweep(counts: Uint32Array, boxes: Float32Array, costs: Float64Array, from: number, to: number): void {
  let x0 = Infinity;
  let y0 = Infinity;
  let z0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  let z1 = -Infinity;
  let count = 0;
  for (let bin = from; bin > to; bin--) {
    const o = 6 * bin;
    count += counts[bin];
    if (counts[bin] > 0) {
      x0 = Math.min(x0, boxes[o]);
      y0 = Math.min(y0, boxes[o + 1]);
      z0 = Math.min(z0, boxes[o + 2]);
      x1 = Math.max(x1, boxes[o + 3]);
      y1 = Math.max(y1, boxes[o + 4]);
      z1 = Math.max(z1, boxes[o + 5]);
    }
    costs[bin] = count === 0 ? Infinity : count * halfArea(x1 - x0, y1 - y0, z1 - z0);
  }
}

function halfArea(x: number, y: number, z: number): number {
  return x * y + y * z + z * x;
}
