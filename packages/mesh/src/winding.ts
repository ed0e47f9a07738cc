import type { Mesh } from '@stonehand/model';
import { orient2d, orient3d } from 'robust-predicates';

/**
 * How often a closed body winds round a vertex of the mesh: 1 inside a body that faces outwards, −1 inside one that is
 * inside out, 0 outside. Exact: a ray straight up, moved by a vanishing step in x and a far smaller one in y, so that it
 * never runs through an edge (Edelsbrunner and Mücke 1990, simulation of simplicity, from memory). A point on the body's own surface
 * counts as just above it.
 * @param list triangle numbers; the body's are from `from` to before `to`, all of them or at least those above and below the vertex
 */
export function windingAt(mesh: Mesh, list: Uint32Array, from: number, to: number, vertex: number): number {
  const { positions: p, triangles } = mesh;
  const x = p[3 * vertex];
  const y = p[3 * vertex + 1];
  const z = p[3 * vertex + 2];
  let winding = 0;
  for (let i = from; i < to; i++) {
    const h = 3 * list[i];
    const a = 3 * triangles[h];
    const b = 3 * triangles[h + 1];
    const c = 3 * triangles[h + 2];
    if (p[a] < x && p[b] < x && p[c] < x) continue;
    if (p[a] > x && p[b] > x && p[c] > x) continue;
    if (p[a + 1] < y && p[b + 1] < y && p[c + 1] < y) continue;
    if (p[a + 1] > y && p[b + 1] > y && p[c + 1] > y) continue;
    if (p[a + 2] < z && p[b + 2] < z && p[c + 2] < z) continue;
    const turn = turnAround(p, a, b, x, y);
    if (turn === 0 || turn !== turnAround(p, b, c, x, y) || turn !== turnAround(p, c, a, x, y)) continue;
    // Positive turn: the triangle faces up, seen from above; the point is below it when orient3d says so.
    const below = orient3d(p[a], p[a + 1], p[a + 2], p[b], p[b + 1], p[b + 2], p[c], p[c + 1], p[c + 2], x, y, z);
    if (below * turn > 0) winding += turn;
  }
  return winding;
}

/** +1 when the edge a b, seen from above, passes the point on its left; the moved point is never on it. */
export function turnAround(p: Float32Array | Float64Array, a: number, b: number, x: number, y: number): number {
  const area = -orient2d(p[a], p[a + 1], p[b], p[b + 1], x, y); // that library counts clockwise as positive
  if (area !== 0) return area > 0 ? 1 : -1;
  // The point moves by a step in x, and by a far smaller one in y.
  const byX = p[a + 1] - p[b + 1];
  if (byX !== 0) return byX > 0 ? 1 : -1;
  const byY = p[b] - p[a];
  return byY === 0 ? 0 : byY > 0 ? 1 : -1;
}
