import type { Mesh } from '@stonehand/model';
import { bodiesOf } from './bodies.ts';
import { halfEdgeTwins } from './half-edges.ts';
import { insideOutBodies, nestingOf, swallowedBodies } from './nesting.ts';
import { selfIntersections } from './self-intersections.ts';

/** Where findings of one code lie: edges by their two vertices, and triangles by their number. */
export type FindingMarks = Readonly<{ code: string; edges: Uint32Array; triangles: Uint32Array }>;

/**
 * All places of the findings asked for, to be shown in a picture: codes holes, facing, sharedEdges, insideOutBodies, overlap and
 * selfIntersections; of others only the one place in the finding is known. Time: a sort of the edges; for bodies that overlap and
 * surfaces that cross what `selfIntersections` takes.
 */
export function findingMarks(mesh: Mesh, codes: ReadonlySet<string>): readonly FindingMarks[] {
  const found: FindingMarks[] = [];
  const add = (code: string, edges: readonly number[], triangles: readonly number[] | Uint32Array): void => {
    if (edges.length + triangles.length === 0 || !codes.has(code)) return;
    found.push({ code, edges: Uint32Array.from(edges), triangles: Uint32Array.from(triangles) });
  };
  if (codes.has('holes') || codes.has('facing') || codes.has('sharedEdges')) {
    const { holes, facing, shared } = faultyEdges(mesh);
    add('holes', holes, []);
    add('facing', facing, []);
    add('sharedEdges', shared, []);
  }
  if (codes.has('insideOutBodies')) add('insideOutBodies', [], trianglesInsideOut(mesh));
  if (codes.has('overlap') || codes.has('selfIntersections')) {
    const { overlapping, crossing } = crossingTriangles(mesh);
    add('overlap', [], overlapping);
    add('selfIntersections', [], crossing);
  }
  return found;
}

/** Edges as pairs of vertices: with one triangle, with two that face opposite ways, with more than two. */
function faultyEdges({ positions, triangles }: Mesh): Readonly<Record<'holes' | 'facing' | 'shared', number[]>> {
  const vertices = positions.length / 3;
  const keys: Float64Array = sortedEdgeKeys(triangles, vertices);
  const faults = { holes: [] as number[], facing: [] as number[], shared: [] as number[] };
  for (let from = 0; from < keys.length; ) {
    const edge = Math.floor(keys[from] / 2);
    let to = from;
    let upwards = 0;
    while (to < keys.length && Math.floor(keys[to] / 2) === edge) upwards += keys[to++] % 2;
    const count = to - from;
    const list =
      count === 1 ? faults.holes : count > 2 ? faults.shared : count === 2 && upwards !== 1 ? faults.facing : undefined;
    list?.push(Math.floor(edge / vertices), edge % vertices);
    from = to;
  }
  return faults;
}

/** (lower vertex · vertices + higher) · 2, plus 1 where the half-edge runs from the lower to the higher. Collapsed triangles have none. */
function sortedEdgeKeys(triangles: Uint32Array, vertices: number): Float64Array {
  const keys = new Float64Array(triangles.length);
  let n = 0;
  for (let h = 0; h < triangles.length; h += 3) {
    const [a, b, c] = [triangles[h], triangles[h + 1], triangles[h + 2]];
    if (a === b || b === c || c === a) continue;
    keys[n++] = edgeKey(a, b, vertices);
    keys[n++] = edgeKey(b, c, vertices);
    keys[n++] = edgeKey(c, a, vertices);
  }
  return keys.subarray(0, n).sort();
}

function edgeKey(from: number, to: number, vertices: number): number {
  return from < to ? 2 * (from * vertices + to) + 1 : 2 * (to * vertices + from);
}

function trianglesInsideOut(mesh: Mesh): number[] {
  const bodies = bodiesOf(mesh, halfEdgeTwins(mesh));
  return insideOutBodies(bodies, nestingOf(mesh, bodies)).flatMap((body) => [
    ...bodies.list.subarray(bodies.start[body], bodies.start[body + 1]),
  ]);
}

function crossingTriangles(mesh: Mesh): Readonly<{ overlapping: number[]; crossing: number[] }> {
  const bodies = bodiesOf(mesh, halfEdgeTwins(mesh));
  const overlapping = new Set<number>();
  const crossing = new Set<number>();
  selfIntersections(mesh, {
    onPair: (s, t, crosses) => {
      if (!crosses) return;
      const list = bodies.bodyOf[s] === bodies.bodyOf[t] ? crossing : overlapping;
      list.add(s);
      list.add(t);
    },
  });
  for (const body of swallowedBodies(bodies, nestingOf(mesh, bodies))) {
    for (let i = bodies.start[body]; i < bodies.start[body + 1]; i++) overlapping.add(bodies.list[i]);
  }
  return { overlapping: [...overlapping], crossing: [...crossing] };
}
