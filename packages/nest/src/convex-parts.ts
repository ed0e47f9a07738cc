import type { Ring } from '@stonehand/model';
import earcut from 'earcut';

/**
 * Cuts an outline with holes into convex parts whose union is the outline: ear clipping, then removal of every
 * diagonal that leaves both its ends convex (Hertel & Mehlhorn 1983, from memory: at most four times the least number).
 * @param outer counter-clockwise, first point not repeated
 * @param holes clockwise, inside outer
 * @returns counter-clockwise convex polygons as flat x, y pairs
 */
export function convexParts(outer: Ring, holes: readonly Ring[]): Float64Array[] {
  if (holes.length === 0 && isConvex(outer)) return [flatRing(outer)];
  const xy: number[] = [];
  const holeStart: number[] = [];
  for (const point of outer) xy.push(point[0], point[1]);
  for (const hole of holes) {
    holeStart.push(xy.length / 2);
    for (const point of hole) xy.push(point[0], point[1]);
  }
  return mergeConvex(xy, earcut(xy, holeStart)).map((loop) => flatLoop(xy, loop));
}

function flatRing(ring: Ring): Float64Array {
  const out = new Float64Array(2 * ring.length);
  for (let i = 0; i < ring.length; i++) {
    out[2 * i] = ring[i]![0];
    out[2 * i + 1] = ring[i]![1];
  }
  return out;
}

function flatLoop(xy: readonly number[], loop: readonly number[]): Float64Array {
  const out = new Float64Array(2 * loop.length);
  for (let i = 0; i < loop.length; i++) {
    out[2 * i] = xy[2 * loop[i]!]!;
    out[2 * i + 1] = xy[2 * loop[i]! + 1]!;
  }
  return out;
}

function isConvex(ring: Ring): boolean {
  const n = ring.length;
  let turns = 0;
  for (let i = 0; i < n; i++) {
    const a = ring[i]!;
    const b = ring[(i + 1) % n]!;
    const c = ring[(i + 2) % n]!;
    const ux = b[0] - a[0];
    const uy = b[1] - a[1];
    const vx = c[0] - b[0];
    const vy = c[1] - b[1];
    if (ux * vy - uy * vx < 0) return false;
    turns += Math.atan2(ux * vy - uy * vx, ux * vx + uy * vy);
  }
  // Once around: a star that winds twice also turns left everywhere.
  return turns < 2 * Math.PI + 1;
}

function mergeConvex(xy: readonly number[], triangles: readonly number[]): number[][] {
  const loops: (number[] | undefined)[] = [];
  for (let t = 0; t < triangles.length; t += 3) {
    const loop = [triangles[t]!, triangles[t + 1]!, triangles[t + 2]!];
    const twice = cross(xy, loop[0]!, loop[1]!, loop[2]!);
    if (twice === 0) continue;
    loops.push(twice > 0 ? loop : loop.reverse());
  }
  // Longest diagonals go first: what stays is short, so parts come out round rather than as slivers.
  const diagonals = sharedEdges(loops as number[][]).sort(
    (p, q) => edgeLength(xy, q[0], q[1]) - edgeLength(xy, p[0], p[1]) || p[0] - q[0] || p[1] - q[1],
  );
  for (const [a, b] of diagonals) {
    const left = loops.findIndex((loop) => loop !== undefined && edgeAt(loop, a, b) >= 0);
    const right = loops.findIndex((loop) => loop !== undefined && edgeAt(loop, b, a) >= 0);
    if (left < 0 || right < 0 || left === right) continue;
    const merged = mergedLoop(xy, loops[left]!, loops[right]!, a, b);
    if (merged === undefined) continue;
    loops[left] = merged;
    loops[right] = undefined;
  }
  return loops.filter((loop): loop is number[] => loop !== undefined);
}

function sharedEdges(loops: readonly (readonly number[])[]): [number, number][] {
  const seen = new Set<string>();
  const shared: [number, number][] = [];
  for (const loop of loops) {
    for (let i = 0; i < loop.length; i++) {
      const a = loop[i]!;
      const b = loop[(i + 1) % loop.length]!;
      if (seen.has(`${b},${a}`)) shared.push([a, b]);
      seen.add(`${a},${b}`);
    }
  }
  return shared;
}

function edgeAt(loop: readonly number[], a: number, b: number): number {
  for (let i = 0; i < loop.length; i++) if (loop[i] === a && loop[(i + 1) % loop.length] === b) return i;
  return -1;
}

function mergedLoop(
  xy: readonly number[],
  left: readonly number[],
  right: readonly number[],
  a: number,
  b: number,
): number[] | undefined {
  const i = edgeAt(left, a, b);
  const j = edgeAt(right, b, a);
  const n = left.length;
  const m = right.length;
  // Only the two ends of the diagonal change their angle.
  const beforeA = left[(i + n - 1) % n]!;
  const afterB = left[(i + 2) % n]!;
  const beforeB = right[(j + m - 1) % m]!;
  const afterA = right[(j + 2) % m]!;
  if (cross(xy, beforeA, a, afterA) < 0 || cross(xy, beforeB, b, afterB) < 0) return undefined;
  const merged: number[] = [];
  for (let k = 0; k < n; k++) merged.push(left[(i + 1 + k) % n]!); // b … a
  for (let k = 2; k < m; k++) merged.push(right[(j + k) % m]!); // after a … before b
  return merged;
}

function edgeLength(xy: readonly number[], a: number, b: number): number {
  return Math.hypot(xy[2 * b]! - xy[2 * a]!, xy[2 * b + 1]! - xy[2 * a + 1]!);
}

function cross(xy: readonly number[], a: number, b: number, c: number): number {
  return (
    (xy[2 * b]! - xy[2 * a]!) * (xy[2 * c + 1]! - xy[2 * b + 1]!) -
    (xy[2 * b + 1]! - xy[2 * a + 1]!) * (xy[2 * c]! - xy[2 * b]!)
  );
}
