import type { Mesh } from '@stonehand/model';
import { type EdgePairing, lower, otherEnd, previous, settleFan } from './edge-pairing.ts';
import { pairEdgesByKernel } from './half-edges-kernel.ts';
import { KERNEL_FROM_TRIANGLES, type KernelOption } from './kernel.ts';

export type { EdgePairing } from './edge-pairing.ts';

/**
 * For each half-edge 3·t + k the half-edge that runs back along the same edge, or −1 at a hole or where facing is
 * inconsistent. Along an edge of four or more triangles those two are paired that bound the same body. A triangle with two
 * corners on one vertex has no area and no neighbours: its half-edges point at itself, and what lies beside it is paired
 * across it.
 */
export function halfEdgeTwins(mesh: Mesh, options?: KernelOption): Int32Array {
  return pairEdges(mesh, options).twins;
}

export function pairEdges(mesh: Mesh, { kernel }: KernelOption = {}): EdgePairing {
  const byKernel = kernel ?? mesh.triangles.length >= 3 * KERNEL_FROM_TRIANGLES;
  return (byKernel ? pairEdgesByKernel(mesh) : undefined) ?? pairEdgesPlainly(mesh);
}

/** Half-edges sorted by their lower vertex (counting sort), then matched inside each vertex's short list. */
function pairEdgesPlainly(mesh: Mesh): EdgePairing {
  const { triangles } = mesh;
  const vertexCount = mesh.positions.length / 3;
  const twins = new Int32Array(triangles.length).fill(-1);
  const start = new Uint32Array(vertexCount + 2);
  const collapsed = countPerVertex(triangles, start, twins);
  for (let v = 2; v < vertexCount + 2; v++) start[v] += start[v - 1];
  const list = new Uint32Array(start[vertexCount + 1]);
  fillPerVertex(triangles, start, list, twins);
  return matchLists(mesh, start, list, twins, collapsed);
}

type Collapsed = Readonly<{ count: number; first: number }>;

function countPerVertex(triangles: Uint32Array, start: Uint32Array, twins: Int32Array): Collapsed {
  let count = 0;
  let first = -1;
  for (let h = 0; h < triangles.length; h += 3) {
    const a = triangles[h];
    const b = triangles[h + 1];
    const c = triangles[h + 2];
    if (a === b || b === c || c === a) {
      if (count++ === 0) first = h;
      pairWithItself(h, a, b, c, twins);
      continue;
    }
    start[Math.min(a, b) + 2]++;
    start[Math.min(b, c) + 2]++;
    start[Math.min(c, a) + 2]++;
  }
  return { count, first };
}

function pairWithItself(h: number, a: number, b: number, c: number, twins: Int32Array): void {
  const across = a === b ? h + 1 : b === c ? h + 2 : h;
  const back = across === h ? h + 1 : across === h + 1 ? h + 2 : h;
  for (let k = h; k < h + 3; k++) twins[k] = k;
  if (a === b && b === c) return;
  twins[across] = back;
  twins[back] = across;
}

function fillPerVertex(triangles: Uint32Array, start: Uint32Array, list: Uint32Array, twins: Int32Array): void {
  for (let h = 0; h < triangles.length; h += 3) {
    if (twins[h] !== -1) continue;
    const a = triangles[h];
    const b = triangles[h + 1];
    const c = triangles[h + 2];
    list[start[Math.min(a, b) + 1]++] = h;
    list[start[Math.min(b, c) + 1]++] = h + 1;
    list[start[Math.min(c, a) + 1]++] = h + 2;
  }
}

const SEEN = -2; // while matching: counted, and without a twin

// A vertex of a fan may have a hundred thousand edges; beyond this many the list is sorted, so that matching stays near linear.
const LONG_LIST = 64;

function matchLists(
  mesh: Mesh,
  start: Uint32Array,
  list: Uint32Array,
  twins: Int32Array,
  collapsed: Collapsed,
): EdgePairing {
  const { triangles } = mesh;
  const vertexCount = mesh.positions.length / 3;
  let edges = 0;
  let boundary = 0;
  let nonManifold = 0;
  let misoriented = 0;
  let unbalanced = 0;
  let duplicates = 0;
  let firstBoundary = -1;
  let firstNonManifold = -1;
  let firstMisoriented = -1;
  let firstDuplicate = -1;
  for (let v = 0; v < vertexCount; v++) {
    const from = start[v];
    const to = start[v + 1];
    const length = to - from;
    if (length > LONG_LIST) sortByOtherEnd(triangles, list, from, to, v);
    for (let i = 0; i < length; i++) {
      const h = list[from + i];
      if (twins[h] !== -1) continue;
      const other = otherEnd(triangles, h, v);
      let faces = 1;
      let balance = triangles[h] === v ? 1 : -1;
      let mate = -1;
      for (let j = i + 1; j < length; j++) {
        const g = list[from + j];
        if (otherEnd(triangles, g, v) !== other) {
          if (length > LONG_LIST) break;
          continue;
        }
        faces++;
        balance += triangles[g] === v ? 1 : -1;
        mate = g;
      }
      edges++;
      if (balance !== 0) unbalanced++;
      if (faces === 2 && balance === 0) {
        twins[h] = mate;
        twins[mate] = h;
        const opposite = triangles[previous(h)];
        // Counted on the one edge that does not touch the highest corner, so that each copy counts once.
        if (other < opposite && triangles[previous(mate)] === opposite) {
          duplicates++;
          firstDuplicate = lower(firstDuplicate, mate);
        }
      } else if (faces === 1) {
        twins[h] = SEEN;
        boundary++;
        firstBoundary = lower(firstBoundary, h);
      } else {
        if (faces > 2) {
          nonManifold++;
          firstNonManifold = lower(firstNonManifold, h);
        } else {
          misoriented++;
          firstMisoriented = lower(firstMisoriented, h);
        }
        const copies = fanOf(mesh, list.subarray(from + i, to), v, other, twins);
        duplicates += copies.length;
        if (copies.length > 0) firstDuplicate = lower(firstDuplicate, copies[0]);
      }
    }
  }
  if (unbalanced > 0) for (let h = 0; h < twins.length; h++) if (twins[h] === SEEN) twins[h] = -1;
  return {
    twins,
    edges,
    boundaryEdges: boundary,
    nonManifoldEdges: nonManifold,
    misorientedEdges: misoriented,
    unbalancedEdges: unbalanced,
    collapsedTriangles: collapsed.count,
    duplicateTriangles: duplicates,
    firstBoundary,
    firstNonManifold,
    firstMisoriented,
    firstCollapsed: collapsed.first,
    firstDuplicate,
  };
}

function sortByOtherEnd(triangles: Uint32Array, list: Uint32Array, from: number, to: number, v: number): void {
  const length = to - from;
  const old = list.slice(from, to);
  const keys = new Float64Array(length); // other end first, then the old place: exact below 2^53
  for (let i = 0; i < length; i++) keys[i] = otherEnd(triangles, old[i], v) * length + i;
  keys.sort();
  for (let i = 0; i < length; i++) list[from + i] = old[keys[i] % length];
}

/** Settles an edge with a fault. Apart from the loop, because a closure inside it would cost an allocation per edge. */
function fanOf(mesh: Mesh, rest: Uint32Array, v: number, other: number, twins: Int32Array): readonly number[] {
  const fan: number[] = [];
  for (const g of rest) if (otherEnd(mesh.triangles, g, v) === other) fan.push(g);
  const copies = settleFan(mesh, fan, v, other, twins);
  for (const g of fan) if (twins[g] === -1) twins[g] = SEEN;
  return copies;
}
