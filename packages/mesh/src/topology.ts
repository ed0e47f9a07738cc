import type { Mesh } from '@stonehand/model';
import type { EdgePairing } from './edge-pairing.ts';
import { pairEdges } from './half-edges.ts';
import {
  aligned,
  KERNEL_BLOCK,
  KERNEL_FROM_TRIANGLES,
  KERNEL_START,
  type KernelOption,
  kernelWith,
  words,
} from './kernel.ts';

/** How the triangles of a mesh hang together. Collapsed triangles are counted and otherwise left out. */
export type Topology = EdgePairing &
  Readonly<{
    /** vertices that a triangle with area to speak of uses */
    usedVertices: number;
    /** bodies linked by a shared vertex */
    components: number;
    /** V − E + F over the used vertices: 2 for a ball, 0 for a ring, −2 for a ring with two holes … per body */
    euler: number;
    /** every edge has exactly two triangles */
    closed: boolean;
    /** the directions of every edge cancel, so that the signed volume does not depend on the origin */
    volumeDefined: boolean;
    /** no edge of two triangles is walked twice in the same direction */
    orientationConsistent: boolean;
  }>;

/** Counts edges, bodies and faults; time linear in the triangles. */
export function topology(mesh: Mesh, { kernel }: KernelOption = {}): Topology {
  const byKernel = kernel ?? mesh.triangles.length >= 3 * KERNEL_FROM_TRIANGLES;
  const pairing = pairEdges(mesh, { kernel: byKernel });
  const { usedVertices, components } =
    (byKernel ? countBodiesByKernel(mesh) : undefined) ?? countBodies(mesh, pairing.collapsedTriangles > 0);
  const faces = mesh.triangles.length / 3 - pairing.collapsedTriangles;
  return {
    ...pairing,
    usedVertices,
    components,
    euler: usedVertices - pairing.edges + faces,
    closed: pairing.boundaryEdges === 0 && pairing.nonManifoldEdges === 0 && pairing.edges > 0,
    volumeDefined: pairing.unbalancedEdges === 0 && pairing.edges > 0,
    orientationConsistent: pairing.misorientedEdges === 0,
  };
}

type Bodies = Readonly<{ usedVertices: number; components: number }>;

function countBodiesByKernel({ positions, triangles }: Mesh): Bodies | undefined {
  const parentsAt = aligned(KERNEL_START + triangles.length * 4);
  const kernel = kernelWith(parentsAt + (positions.length / 3) * 4);
  if (kernel === undefined) return undefined;
  words(kernel, KERNEL_START, triangles.length).set(triangles);
  kernel.startBodies(parentsAt, positions.length / 3);
  for (let from = 0; from < triangles.length; from += KERNEL_BLOCK) {
    kernel.joinBodies(KERNEL_START, parentsAt, from, Math.min(from + KERNEL_BLOCK, triangles.length));
  }
  return { usedVertices: kernel.usedVertices.value, components: kernel.components.value };
}

/** Union-find over vertices with path halving; the root of a body is its lowest vertex. */
function countBodies(mesh: Mesh, someCollapsed: boolean): Bodies {
  const { triangles } = mesh;
  const parent = new Int32Array(mesh.positions.length / 3).fill(-1);
  let usedVertices = 0;
  let components = 0;
  for (let h = 0; h < triangles.length; h += 3) {
    const a = triangles[h];
    const b = triangles[h + 1];
    const c = triangles[h + 2];
    if (someCollapsed && (a === b || b === c || c === a)) continue;
    // Nearly always: all three hang at one root already, or two do and the third is new.
    const pa = parent[a];
    const pb = parent[b];
    const pc = parent[c];
    if (pa === pb && pa === pc && pa !== -1) continue;
    for (let k = h; k < h + 3; k++) {
      const v = triangles[k];
      if (parent[v] !== -1) continue;
      parent[v] = v;
      usedVertices++;
      components++;
    }
    const ra = rootOf(parent, a);
    const rb = rootOf(parent, b);
    const rc = rootOf(parent, c);
    const low = Math.min(ra, rb, rc);
    if (ra !== low) components--;
    if (rb !== low && rb !== ra) components--;
    if (rc !== low && rc !== ra && rc !== rb) components--;
    parent[ra] = low;
    parent[rb] = low;
    parent[rc] = low;
  }
  return { usedVertices, components };
}

function rootOf(parent: Int32Array, vertex: number): number {
  let v = vertex;
  while (parent[v] !== v) {
    parent[v] = parent[parent[v]];
    v = parent[v];
  }
  return v;
}
