import type { Mesh } from '@stonehand/model';
import { type EdgePairing, lower, otherEnd, settleFan } from './edge-pairing.ts';
import { aligned, KERNEL_BLOCK, KERNEL_START, type Kernel, kernelWith, words } from './kernel.ts';

/**
 * pairEdges by the compiled kernel, which pairs the edges of two triangles and hands over those with a fault.
 * @returns undefined where there is no kernel or memory, and for meshes that plain code does sooner: a vertex with very many
 *   edges, or faults at a large part of the edges
 */
export function pairEdgesByKernel(mesh: Mesh): EdgePairing | undefined {
  const { triangles } = mesh;
  const length = triangles.length;
  const vertexCount = mesh.positions.length / 3;
  if (length > MOST_HALF_EDGES) return undefined;
  const linksAt = aligned(KERNEL_START + length * 4);
  const headsAt = aligned(linksAt + length * 4);
  const fansAt = aligned(headsAt + vertexCount * 4);
  const kernel = kernelWith(fansAt + KERNEL_BLOCK * 8);
  if (kernel === undefined) return undefined;
  words(kernel, KERNEL_START, length).set(triangles);
  kernel.startEdges(headsAt, vertexCount);
  for (let from = 0; from < length; from += KERNEL_BLOCK) {
    kernel.enterEdges(KERNEL_START, linksAt, headsAt, from, Math.min(from + KERNEL_BLOCK, length));
    if (kernel.steps.value > MOST_STEPS * (from + KERNEL_BLOCK)) return undefined;
  }
  const fans = new Map<number, number[]>();
  let members = 0;
  for (let from = 0; from < length; from += KERNEL_BLOCK) {
    const pairs = kernel.settleEdges(KERNEL_START, linksAt, from, Math.min(from + KERNEL_BLOCK, length), fansAt);
    members += pairs;
    if (members > length * MOST_IN_FANS) return undefined;
    gather(words(kernel, fansAt, pairs * 2), fans);
  }
  const twins = new Int32Array(length);
  twins.set(new Int32Array(kernel.memory.buffer, linksAt, length));
  return pairFans(mesh, kernel, fans, twins);
}

const MOST_HALF_EDGES = 2 ** 29; // a link has three bits for its kind
// Steps per half-edge along the chains: about one in a mesh of even triangles. One vertex with 500 edges in a mesh of 20 000
// triangles costs six more; a fan of all its triangles would cost thousands.
const MOST_STEPS = 16;
const MOST_IN_FANS = 1 / 16;

function gather(pairs: Uint32Array, fans: Map<number, number[]>): void {
  for (let i = 0; i < pairs.length; i += 2) {
    const opener = pairs[i + 1];
    const fan = fans.get(opener);
    if (fan === undefined) fans.set(opener, [opener, pairs[i]]);
    else fan.push(pairs[i]);
  }
}

function pairFans(mesh: Mesh, kernel: Kernel, fans: Map<number, number[]>, twins: Int32Array): EdgePairing {
  const { triangles } = mesh;
  const boundary = kernel.boundary.value;
  let nonManifold = 0;
  let misoriented = 0;
  let unbalanced = boundary;
  let duplicates = kernel.duplicates.value;
  let firstNonManifold = -1;
  let firstMisoriented = -1;
  let firstDuplicate = kernel.firstDuplicate.value;
  for (const [opener, fan] of fans) {
    const v = Math.min(triangles[opener], otherEnd(triangles, opener, triangles[opener]));
    let balance = 0;
    for (const h of fan) {
      twins[h] = -1;
      balance += triangles[h] === v ? 1 : -1;
    }
    if (balance !== 0) unbalanced++;
    if (fan.length > 2) {
      nonManifold++;
      firstNonManifold = lower(firstNonManifold, opener);
    } else {
      misoriented++;
      firstMisoriented = lower(firstMisoriented, opener);
    }
    const copies = settleFan(mesh, fan, v, otherEnd(triangles, opener, v), twins);
    duplicates += copies.length;
    if (copies.length > 0) firstDuplicate = lower(firstDuplicate, copies[0]);
  }
  return {
    twins,
    edges: kernel.edges.value,
    boundaryEdges: boundary,
    nonManifoldEdges: nonManifold,
    misorientedEdges: misoriented,
    unbalancedEdges: unbalanced,
    collapsedTriangles: kernel.collapsed.value,
    duplicateTriangles: duplicates,
    firstBoundary: kernel.firstBoundary.value,
    firstNonManifold,
    firstMisoriented,
    firstCollapsed: kernel.firstCollapsed.value,
    firstDuplicate,
  };
}
