import { flatHull } from './flat-hull.ts';
import { HullFacets, NONE } from './hull-facets.ts';
import { side } from './side.ts';

export type ConvexHull = Readonly<{
  /** indices into the positions, ascending; may include points that lie on a face or an edge of the hull */
  vertices: Uint32Array;
  /** 3·m indices into the positions, counter-clockwise seen from outside; faces with more corners are split */
  triangles: Uint32Array;
}>;

/**
 * Convex hull of points in space. Which side of a facet a point lies on is decided exactly, so that coplanar, collinear
 * and repeated points cannot spoil the surface.
 * @param positions 3·n coordinates in mm, finite
 * @returns a closed convex surface; points in one plane give a two-sided fan, points on a line two vertices, no triangle
 * Source: Barber, Dobkin, Huhdanpaa 1996, The quickhull algorithm for convex hulls (from memory)
 */
export function convexHull(positions: ArrayLike<number>): ConvexHull {
  const start = firstTetrahedron(positions);
  if (start === undefined) return flatHull(positions);
  const facets = new HullFacets(positions, start);
  const facetFrom = new Int32Array(positions.length / 3).fill(NONE);
  const seen: number[] = [];
  const horizon: number[] = [];
  const fresh: number[] = [];
  for (let facet = facets.nextWithOutside(); facet !== NONE; facet = facets.nextWithOutside()) {
    const apex = facets.farthest[facet];
    collectVisible(facets, facet, apex, seen, horizon);
    fresh.length = 0;
    for (const edge of horizon) {
      const made = facets.coneFacet(edge, apex);
      facetFrom[facets.corner[3 * made]] = made;
      fresh.push(made);
    }
    // The horizon of an outside point is one simple loop, so each of its vertices starts exactly one new facet.
    for (const made of fresh) facets.join(made, 1, facetFrom[facets.corner[3 * made + 1]], 2);
    facets.handOver(seen, fresh, apex);
  }
  return facets.surface();
}

/** Facets that the apex is strictly above, found from one of them; the edges to the others are the horizon. */
function collectVisible(facets: HullFacets, first: number, apex: number, seen: number[], horizon: number[]): void {
  seen.length = 0;
  horizon.length = 0;
  facets.mark[first] = 1;
  seen.push(first);
  for (let k = 0; k < seen.length; k++) {
    for (let e = 3 * seen[k]; e < 3 * seen[k] + 3; e++) {
      const other = facets.twin[e];
      const facet = (other / 3) | 0;
      if (facets.mark[facet] === 1) continue;
      if (facets.isAbove(facet, apex)) {
        facets.mark[facet] = 1;
        seen.push(facet);
      } else {
        horizon.push(other);
      }
    }
  }
}

/** Four points that span space, as large as a cheap search finds; undefined when all lie in one plane. */
function firstTetrahedron(p: ArrayLike<number>): readonly [number, number, number, number] | undefined {
  const n = p.length / 3;
  if (n < 4) return undefined;
  let a = 0;
  let b = 0;
  let widest = -1;
  for (let axis = 0; axis < 3; axis++) {
    let low = 0;
    let high = 0;
    for (let i = 1; i < n; i++) {
      if (p[3 * i + axis] < p[3 * low + axis]) low = i;
      if (p[3 * i + axis] > p[3 * high + axis]) high = i;
    }
    if (p[3 * high + axis] - p[3 * low + axis] > widest) {
      widest = p[3 * high + axis] - p[3 * low + axis];
      a = low;
      b = high;
    }
  }
  const c = farthestFromLine(p, a, b);
  let d = -1;
  let largest = 0;
  for (let i = 0; i < n; i++) {
    const size = Math.abs(side(p, a, b, c, i));
    if (size > largest) {
      largest = size;
      d = i;
    }
  }
  if (d < 0) return undefined;
  return side(p, a, b, c, d) < 0 ? [a, b, c, d] : [a, c, b, d];
}

function farthestFromLine(p: ArrayLike<number>, a: number, b: number): number {
  const ux = p[3 * b] - p[3 * a];
  const uy = p[3 * b + 1] - p[3 * a + 1];
  const uz = p[3 * b + 2] - p[3 * a + 2];
  let best = a;
  let most = -1;
  for (let i = 0; i < p.length / 3; i++) {
    const x = p[3 * i] - p[3 * a];
    const y = p[3 * i + 1] - p[3 * a + 1];
    const z = p[3 * i + 2] - p[3 * a + 2];
    const size = (y * uz - z * uy) ** 2 + (z * ux - x * uz) ** 2 + (x * uy - y * ux) ** 2;
    if (size > most) {
      most = size;
      best = i;
    }
  }
  return best;
}
