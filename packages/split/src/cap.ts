import { seededRandom } from '@stonehand/base';
import earcut from 'earcut';
import { loopAreaMm2, traceLoops } from './trace-loops.ts';

export type Point2 = (vertex: number) => readonly [number, number];

/**
 * Triangles that close an opening whose edges all lie in one plane. Outer loops run counter-clockwise, holes clockwise;
 * each hole goes to the smallest outer loop around it. Uses only the vertices of the edges, and every edge exactly once,
 * so that the closed piece has no T-junctions.
 * @param from, to the cap's own edges, material to the left in the plane's frame
 * @returns vertex triples counter-clockwise in the frame; undefined when the edges do not close or no triangulation keeps them all
 */
export function capTriangles(from: readonly number[], to: readonly number[], point: Point2): number[] | undefined {
  const loops = traceLoops(from, to, point);
  if (loops === undefined) return undefined;
  const areas = loops.map((loop) => loopAreaMm2(loop, point));
  const outers = loops.map((_, i) => i).filter((i) => areas[i] > 0);
  const holesOf = new Map<number, number[]>();
  for (let hole = 0; hole < loops.length; hole++) {
    // A loop without area is a slit whose edges cancel; it still needs its triangles, so it hangs on what is around it.
    if (areas[hole] > 0) continue;
    const owner = ownerOf(loops[hole], outers, loops, areas, point);
    if (owner === undefined) {
      if (areas[hole] === 0) continue;
      return undefined;
    }
    holesOf.set(owner, [...(holesOf.get(owner) ?? []), hole]);
  }
  const groups = outers.map((outer) => [loops[outer], ...(holesOf.get(outer) ?? []).map((hole) => loops[hole])]);
  const triangles = groups.flatMap((group) => triangulate(group, point));
  if (keepsEdges(triangles, from, to)) return triangles;
  // Rows of points on a line that no rounding keeps straight: seen a hair apart they are all corners, and which triangles join them does not matter, since all
  // lie in one plane.
  for (let attempt = 1; attempt <= SHAKEN_ATTEMPTS; attempt++) {
    const shaken = groups.flatMap((group) => triangulateShaken(group, point, attempt));
    if (keepsEdges(shaken, from, to)) return shaken;
  }
  return undefined;
}

const SHAKEN_ATTEMPTS = 8;
/** Of the opening's size: far above rounding, far below any feature. */
const SHAKE_SHARE = 1e-7;

/** Triangulated with every point moved a little, this way or that; the orientation of all triangles is that of their sum. */
function triangulateShaken(group: readonly (readonly number[])[], point: Point2, seed: number): number[] {
  const vertices = group.flat();
  const coordinates = Float64Array.from(vertices.flatMap((vertex) => [...point(vertex)]));
  const size = Math.max(...coordinates) - Math.min(...coordinates);
  const random = seededRandom(seed);
  for (let i = 0; i < coordinates.length; i++) coordinates[i] += SHAKE_SHARE * size * (random.next() - 0.5);
  const flat = earcut(coordinates, holeStartsOf(group), 2);
  let area = 0;
  for (let t = 0; t < flat.length; t += 3) {
    const at = (k: number): readonly [number, number] => [
      coordinates[2 * flat[t + k]],
      coordinates[2 * flat[t + k] + 1],
    ];
    area += turn(at(0), at(1), at(2));
  }
  const order = area >= 0 ? [0, 1, 2] : [0, 2, 1];
  const triangles: number[] = [];
  for (let t = 0; t < flat.length; t += 3) for (const k of order) triangles.push(vertices[flat[t + k]]);
  return triangles;
}

function holeStartsOf(group: readonly (readonly number[])[]): number[] {
  const starts: number[] = [];
  let start = 0;
  for (const loop of group) {
    if (start > 0) starts.push(start);
    start += loop.length;
  }
  return starts;
}

function ownerOf(
  hole: readonly number[],
  outers: readonly number[],
  loops: readonly (readonly number[])[],
  areas: readonly number[],
  point: Point2,
): number | undefined {
  let owner: number | undefined;
  for (const outer of outers) {
    if (owner !== undefined && areas[outer] >= areas[owner]) continue;
    if (mostlyInside(hole, loops[outer], point)) owner = outer;
  }
  return owner;
}

/** Middles of the hole's edges vote: single points may lie on the outer loop where the two touch. */
function mostlyInside(hole: readonly number[], outer: readonly number[], point: Point2): boolean {
  let votes = 0;
  const step = Math.max(1, Math.floor(hole.length / 7));
  for (let i = 0; i < hole.length; i += step) {
    const [ax, ay] = point(hole[i]);
    const [bx, by] = point(hole[(i + 1) % hole.length]);
    votes += isInside((ax + bx) / 2, (ay + by) / 2, outer, point) ? 1 : -1;
  }
  return votes > 0;
}

function isInside(x: number, y: number, loop: readonly number[], point: Point2): boolean {
  let inside = false;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const [ax, ay] = point(loop[i]);
    const [bx, by] = point(loop[j]);
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  }
  return inside;
}

function triangulate(group: readonly (readonly number[])[], point: Point2): number[] {
  const vertices = group.flat();
  const coordinates = new Float64Array(2 * vertices.length);
  vertices.forEach((vertex, i) => {
    const [x, y] = point(vertex);
    coordinates[2 * i] = x;
    coordinates[2 * i + 1] = y;
  });
  const flat = earcut(coordinates, holeStartsOf(group), 2);
  const triangles: number[] = [];
  for (let t = 0; t < flat.length; t += 3) {
    const [a, b, c] = [vertices[flat[t]], vertices[flat[t + 1]], vertices[flat[t + 2]]];
    if (turn(point(a), point(b), point(c)) >= 0) triangles.push(a, b, c);
    else triangles.push(a, c, b);
  }
  return putBackLeftOut(triangles, group);
}

function turn(a: readonly [number, number], b: readonly [number, number], c: readonly [number, number]): number {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

/**
 * The triangulation leaves out loop points that lie on a straight line between their neighbours. Each such long edge is
 * walked along the loop and its triangle becomes a fan from the opposite corner.
 */
function putBackLeftOut(triangles: number[], group: readonly (readonly number[])[]): number[] {
  const next = new Map<string, number>();
  const after = new Map<number, number[]>();
  for (const loop of group) {
    loop.forEach((vertex, i) => {
      const following = loop[(i + 1) % loop.length];
      next.set(`${vertex},${following}`, 1);
      after.set(vertex, [...(after.get(vertex) ?? []), following]);
    });
  }
  const edges = new Set<string>();
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) edges.add(`${triangles[t + k]},${triangles[t + ((k + 1) % 3)]}`);
  }
  const queue: (readonly [number, number, number])[] = [];
  for (let t = triangles.length - 3; t >= 0; t -= 3) queue.push([triangles[t], triangles[t + 1], triangles[t + 2]]);
  const out: number[] = [];
  for (let triangle = queue.pop(); triangle !== undefined; triangle = queue.pop()) {
    const chain = longEdge(triangle);
    if (chain === undefined) {
      out.push(...triangle);
      continue;
    }
    for (let i = chain.path.length - 2; i >= 0; i--) queue.push([chain.path[i], chain.path[i + 1], chain.apex]);
  }
  return out;

  function longEdge(triangle: readonly [number, number, number]): { path: number[]; apex: number } | undefined {
    for (let k = 0; k < 3; k++) {
      const a = triangle[k];
      const c = triangle[(k + 1) % 3];
      if (next.has(`${a},${c}`) || edges.has(`${c},${a}`)) continue;
      const path = missingPath(a, c);
      if (path === undefined) continue;
      for (let i = 0; i + 1 < path.length; i++) edges.add(`${path[i]},${path[i + 1]}`);
      return { path, apex: triangle[(k + 2) % 3] };
    }
    return undefined;
  }

  /** Along loop edges that no triangle has, from a to c. */
  function missingPath(a: number, c: number): number[] | undefined {
    const path = [a];
    for (let vertex = a; vertex !== c; ) {
      const following = (after.get(vertex) ?? []).find((w) => !edges.has(`${vertex},${w}`));
      if (following === undefined || path.length > after.size) return undefined;
      path.push(following);
      vertex = following;
    }
    return path;
  }
}

/** The cap's boundary is exactly the given edges. */
function keepsEdges(triangles: readonly number[], from: readonly number[], to: readonly number[]): boolean {
  const net = new Map<string, number>();
  const add = (a: number, b: number, sign: number): void => {
    const key = a < b ? `${a},${b}` : `${b},${a}`;
    const sum = (net.get(key) ?? 0) + (a < b ? sign : -sign);
    if (sum === 0) net.delete(key);
    else net.set(key, sum);
  };
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) add(triangles[t + k], triangles[t + ((k + 1) % 3)], 1);
  }
  for (let e = 0; e < from.length; e++) add(from[e], to[e], -1);
  return net.size === 0;
}
