import type { Mesh } from '@stonehand/model';
import { pairAround } from './pair-around.ts';

/** How the edges of a mesh meet. Half-edge h = 3·t + k runs from corner k of triangle t to its next corner. */
export type EdgePairing = Readonly<{
  /** the half-edge on the other side, −1 where there is none that runs the other way; collapsed triangles point at themselves */
  twins: Int32Array;
  edges: number;
  /** edges with one triangle */
  boundaryEdges: number;
  /** edges with three or more */
  nonManifoldEdges: number;
  /** edges of two triangles that both walk it in the same direction */
  misorientedEdges: number;
  /** edges whose directions do not cancel, so that the volume depends on the origin */
  unbalancedEdges: number;
  /** triangles with two corners on one vertex; they take no part in the edges */
  collapsedTriangles: number;
  /** extra copies of a triangle with the same three corners, facing either way */
  duplicateTriangles: number;
  /** the lowest half-edge with each kind of fault, −1 for none: the place to show */
  firstBoundary: number;
  firstNonManifold: number;
  firstMisoriented: number;
  firstCollapsed: number;
  firstDuplicate: number;
}>;

/**
 * An edge of three or more triangles, or of two that face opposite ways: pairs them where bodies can be told apart.
 * @param fan all half-edges along the edge from `v` to `other`, in the order of the file, their twins −1
 * @returns the half-edges of triangles of which there is an earlier copy; mostly none
 */
export function settleFan(
  mesh: Mesh,
  fan: readonly number[],
  v: number,
  other: number,
  twins: Int32Array,
): readonly number[] {
  const { triangles } = mesh;
  if (fan.length > 2) pairAround(mesh, fan, v, other, twins);
  const copies: number[] = [];
  for (let k = 1; k < fan.length; k++) {
    // Asked at the edge away from the highest corner only, so that each copy counts once.
    const opposite = triangles[previous(fan[k])];
    if (other > opposite) continue;
    let j = 0;
    while (triangles[previous(fan[j])] !== opposite) j++;
    if (j < k) copies.push(fan[k]);
  }
  return copies;
}

/** The end of a half-edge that is not `v`. */
export function otherEnd(triangles: Uint32Array, h: number, v: number): number {
  const a = triangles[h];
  return a === v ? triangles[next(h)] : a;
}

export function next(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

export function previous(h: number): number {
  return h % 3 === 0 ? h + 2 : h - 1;
}

/** The lower of two half-edges, of which the first may be −1 for none. */
export function lower(first: number, h: number): number {
  return first < 0 || h < first ? h : first;
}
