import type { Mesh, Vec3 } from '@stonehand/model';
import { bodiesOf } from './bodies.ts';
import { fillLoop } from './fill-loop.ts';
import { pairEdges } from './half-edges.ts';
import { holeLoops } from './hole-loops.ts';

export type ClosedHoles = Readonly<{
  mesh: Mesh;
  /** holes closed, triangles added for them, rims left open */
  closed: number;
  added: number;
  left: number;
  /** area of the largest filling as a share of the surface without it */
  largestShare: number;
}>;

/**
 * Fills the holes of bodies with triangles between the corners of their rims; no corner is moved or added. A rim that meets
 * itself in a corner is filled loop by loop. Flat sheets are left: closing their outline would make a body without volume.
 */
export function closeHoles(mesh: Mesh): ClosedHoles {
  const { twins, boundaryEdges } = pairEdges(mesh);
  if (boundaryEdges === 0) return { mesh, closed: 0, added: 0, left: 0, largestShare: 0 };
  const { triangles } = mesh;
  const bodies = bodiesOf(mesh, twins);
  const sheets = flatBodies(mesh, bodies.bodyOf, bodies.count);
  const rims = holeLoops(mesh, twins);
  const taken = edgesBetween(mesh, new Set(rims.flatMap(({ halfEdges }) => halfEdges.map((h) => triangles[h]))));
  const added: number[] = [];
  const surface = bodies.area.reduce((sum, area) => sum + area, 0);
  let closed = 0;
  let left = 0;
  let largest = 0;
  for (const { halfEdges, closed: comesBack } of rims) {
    const isSheet = sheets[bodies.bodyOf[(halfEdges[0] - (halfEdges[0] % 3)) / 3]] === 1;
    if (!comesBack || isSheet) {
      left++;
      continue;
    }
    for (const loop of simpleLoops(halfEdges.map((h) => triangles[h]).reverse())) {
      const points = loop.map((v) => pointOf(mesh, v));
      const filling = fillLoop(points, (i, j) => taken.has(edgeKey(mesh, loop[i], loop[j])));
      if (filling === undefined) {
        left++;
        continue;
      }
      closed++;
      let area = 0;
      for (let k = 0; k < filling.length; k += 3) {
        const [a, b, c] = [loop[filling[k]], loop[filling[k + 1]], loop[filling[k + 2]]];
        added.push(a, b, c);
        area += areaOf(points[filling[k]], points[filling[k + 1]], points[filling[k + 2]]);
        for (const key of [edgeKey(mesh, a, b), edgeKey(mesh, b, c), edgeKey(mesh, c, a)]) taken.add(key);
      }
      largest = Math.max(largest, area);
    }
  }
  if (closed === 0) return { mesh, closed, added: 0, left, largestShare: 0 };
  const filled = new Uint32Array(triangles.length + added.length);
  filled.set(triangles);
  filled.set(added, triangles.length);
  return {
    mesh: { ...mesh, triangles: filled },
    closed,
    added: added.length / 3,
    left,
    largestShare: surface > 0 ? largest / surface : 0,
  };
}

const SHEET_SHARE = 0.99; // of the area faces one way: a shallow tray with a rim is below, a bent sheet above

/** Marks bodies whose area vectors add up to nearly their area: flat sheets, not bodies with a hole. */
function flatBodies({ positions: p, triangles }: Mesh, bodyOf: Uint32Array, count: number): Uint8Array {
  const sums = new Float64Array(4 * count);
  for (let t = 0; t < bodyOf.length; t++) {
    if (bodyOf[t] >= count) continue;
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const u = [0, 1, 2].map((k) => p[b + k] - p[a + k]);
    const v = [0, 1, 2].map((k) => p[c + k] - p[a + k]);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const o = 4 * bodyOf[t];
    for (let k = 0; k < 3; k++) sums[o + k] += n[k];
    sums[o + 3] += Math.hypot(...n);
  }
  return Uint8Array.from({ length: count }, (_, b) =>
    Math.hypot(sums[4 * b], sums[4 * b + 1], sums[4 * b + 2]) >= SHEET_SHARE * sums[4 * b + 3] ? 1 : 0,
  );
}

/** Edges of the surface between corners of rims. */
function edgesBetween(mesh: Mesh, vertices: ReadonlySet<number>): Set<number> {
  const { triangles, positions } = mesh;
  const isRim = new Uint8Array(positions.length / 3);
  for (const v of vertices) isRim[v] = 1;
  const edges = new Set<number>();
  for (let h = 0; h < triangles.length; h++) {
    const a = triangles[h];
    const b = triangles[h % 3 === 2 ? h - 2 : h + 1];
    if (isRim[a] === 1 && isRim[b] === 1) edges.add(edgeKey(mesh, a, b));
  }
  return edges;
}

function edgeKey({ positions }: Mesh, a: number, b: number): number {
  return Math.min(a, b) * (positions.length / 3) + Math.max(a, b);
}

/** Cuts a closed walk into loops that meet each corner once. */
function simpleLoops(walk: readonly number[]): number[][] {
  const loops: number[][] = [];
  const path: number[] = [];
  for (const v of walk) {
    const at = path.indexOf(v);
    if (at >= 0) loops.push(path.splice(at));
    path.push(v);
  }
  if (path.length > 0) loops.push(path);
  return loops.filter((loop) => loop.length > 2);
}

function pointOf({ positions }: Mesh, v: number): Vec3 {
  return [positions[3 * v], positions[3 * v + 1], positions[3 * v + 2]];
}

function areaOf(a: Vec3, b: Vec3, c: Vec3): number {
  const u = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const v = [c[0] - a[0], c[1] - a[1], c[2] - a[2]];
  return Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
}
