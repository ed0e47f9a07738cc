import type { Mesh } from '@stonehand/model';
import { isCollapsed } from './bodies.ts';

/**
 * Vertices whose triangles form more than one fan: parts of the surface that touch in a point only. Triangles belong to one
 * fan when they share an edge at the vertex, however many triangles that edge has; collapsed triangles are left out.
 * @param twins of halfEdgeTwins(mesh)
 * @returns their number, and the first of them or −1
 */
export function nonManifoldVertices(mesh: Mesh, twins: Int32Array): Readonly<{ count: number; first: number }> {
  const suspects = notOneWalk(mesh, twins);
  if (suspects.size === 0) return { count: 0, first: -1 };
  const { triangles } = mesh;
  for (let h = 0; h < triangles.length; h++) {
    const corners = suspects.get(triangles[h]);
    if (corners !== undefined && !isCollapsed(triangles, h - (h % 3))) corners.push(h);
  }
  let count = 0;
  let first = -1;
  for (const [vertex, corners] of suspects) {
    if (fansOf(triangles, corners) < 2) continue;
    if (first < 0 || vertex < first) first = vertex;
    count++;
  }
  return { count, first };
}

/** Vertices at which a walk from twin to twin does not meet all triangles; nearly always none. */
function notOneWalk({ positions, triangles }: Mesh, twins: Int32Array): Map<number, number[]> {
  const degree = new Uint32Array(positions.length / 3);
  const start = new Int32Array(degree.length).fill(-1);
  for (let h = 0; h < triangles.length; h += 3) {
    if (isCollapsed(triangles, h)) continue;
    for (let k = h; k < h + 3; k++) {
      degree[triangles[k]]++;
      start[triangles[k]] = k;
    }
  }
  const suspects = new Map<number, number[]>();
  for (let v = 0; v < degree.length; v++) {
    if (start[v] < 0 || walkLength(twins, start[v], degree[v]) === degree[v]) continue;
    suspects.set(v, []);
  }
  return suspects;
}

function walkLength(twins: Int32Array, start: number, most: number): number {
  let met = 1;
  let h = twins[previous(start)];
  while (h >= 0 && h !== start && met <= most) {
    met++;
    h = twins[previous(h)];
  }
  if (h >= 0) return met;
  for (let g = twins[start]; g >= 0 && met <= most; g = twins[next(g)]) met++;
  return met;
}

function next(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

function previous(h: number): number {
  return h % 3 === 0 ? h + 2 : h - 1;
}

/** Groups of corners that are linked by a common neighbour. */
function fansOf(triangles: Uint32Array, corners: readonly number[]): number {
  const parent = corners.map((_, i) => i);
  const root = (i: number): number => (parent[i] === i ? i : root(parent[i]));
  const byNeighbour = new Map<number, number>();
  let fans = corners.length;
  for (const [i, h] of corners.entries()) {
    for (const neighbour of [triangles[next(h)], triangles[previous(h)]]) {
      const other = byNeighbour.get(neighbour);
      byNeighbour.set(neighbour, i);
      if (other === undefined || root(other) === root(i)) continue;
      parent[root(other)] = root(i);
      fans--;
    }
  }
  return fans;
}
