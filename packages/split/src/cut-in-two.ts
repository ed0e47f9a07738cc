import { StonehandError } from '@stonehand/base';
import type { Mesh, Vec3 } from '@stonehand/model';
import { capTriangles } from './cap.ts';
import { type Plane, planeFrame, signedDistances } from './plane.ts';

/** below: normal · p ≤ offset. A side without material is absent. */
export type Halves = Readonly<{ below?: Mesh; above?: Mesh }>;

/**
 * Cuts a closed mesh by one plane. Triangles that cross it are divided at points computed once per edge, so both halves
 * and all neighbours share them; triangles in the plane are dropped and made again by the caps. Each half is closed by a
 * cap over its own open edges.
 * @throws StonehandError MESH_OPEN when the edges in the plane do not close, GEOMETRY_FAILED when a cap cannot be triangulated
 */
export function cutInTwo(mesh: Mesh, plane: Plane): Halves {
  const distances = signedDistances(mesh, plane);
  const state = divideTriangles(mesh, distances);
  if (state.above.length === 0) return { below: mesh };
  if (state.below.length === 0) return { above: mesh };
  return {
    below: closed(state.below, state.positions, state.onPlane, plane, mesh.originMm, 1),
    above: closed(state.above, state.positions, state.onPlane, plane, mesh.originMm, -1),
  };
}

type Divided = {
  positions: Float64Array;
  /** by vertex: lies in the plane */
  onPlane: Uint8Array;
  below: number[];
  above: number[];
};

function divideTriangles(mesh: Mesh, distances: Float64Array): Divided {
  const { triangles } = mesh;
  const count = distances.length;
  const crossings = crossingEdges(triangles, distances);
  const state: Divided = {
    positions: new Float64Array(3 * (count + crossings)),
    onPlane: new Uint8Array(count + crossings),
    below: [],
    above: [],
  };
  state.positions.set(mesh.positions);
  for (let v = 0; v < count; v++) state.onPlane[v] = distances[v] === 0 ? 1 : 0;
  const cutPoints = new Map<number, number>();
  const above: number[] = [];
  const below: number[] = [];
  for (let t = 0; t < triangles.length; t += 3) {
    above.length = 0;
    below.length = 0;
    let crosses = false;
    for (let k = 0; k < 3; k++) {
      const v = triangles[t + k];
      const w = triangles[t + ((k + 1) % 3)];
      const dv = distances[v];
      const dw = distances[w];
      if (dv >= 0) above.push(v);
      if (dv <= 0) below.push(v);
      if (dv === 0) continue;
      crosses = crosses || dv * dw < 0;
      if (dv * dw < 0) {
        const c = cutPoint(v, w);
        above.push(c);
        below.push(c);
      }
    }
    const highest = Math.max(distances[triangles[t]], distances[triangles[t + 1]], distances[triangles[t + 2]]);
    const lowest = Math.min(distances[triangles[t]], distances[triangles[t + 1]], distances[triangles[t + 2]]);
    if (highest > 0) addPolygon(state.above, above);
    if (lowest < 0) addPolygon(state.below, below);
  }
  return state;

  function cutPoint(v: number, w: number): number {
    const low = Math.min(v, w);
    const high = Math.max(v, w);
    const key = low * count + high;
    const known = cutPoints.get(key);
    if (known !== undefined) return known;
    const share = distances[low] / (distances[low] - distances[high]);
    const p = state.positions;
    const made = count + cutPoints.size;
    for (let d = 0; d < 3; d++) p[3 * made + d] = p[3 * low + d] + share * (p[3 * high + d] - p[3 * low + d]);
    state.onPlane[made] = 1;
    cutPoints.set(key, made);
    return made;
  }

  /** Three or four corners of a convex polygon; a quadrangle is divided along its shorter diagonal. */
  function addPolygon(into: number[], corners: readonly number[]): void {
    if (corners.length === 3) into.push(corners[0], corners[1], corners[2]);
    if (corners.length !== 4) return;
    const [a, b, c, d] = corners;
    if (squaredDistance(state.positions, a, c) <= squaredDistance(state.positions, b, d)) into.push(a, b, c, a, c, d);
    else into.push(a, b, d, b, c, d);
  }
}

/** Triangle sides that go down through the plane: each crossing edge of a closed mesh once. */
function crossingEdges(triangles: Uint32Array, distances: Float64Array): number {
  let crossings = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) {
      if (distances[triangles[t + k]] > 0 && distances[triangles[t + ((k + 1) % 3)]] < 0) crossings++;
    }
  }
  return crossings;
}

function squaredDistance(p: Float64Array, a: number, b: number): number {
  return (p[3 * a] - p[3 * b]) ** 2 + (p[3 * a + 1] - p[3 * b + 1]) ** 2 + (p[3 * a + 2] - p[3 * b + 2]) ** 2;
}

/** Adds the cap and keeps only the vertices in use. side 1: the cap faces along the normal. */
function closed(
  triangles: readonly number[],
  positions: Float64Array,
  onPlane: Uint8Array,
  plane: Plane,
  originMm: Vec3,
  side: 1 | -1,
): Mesh {
  const [u, v] = planeFrame(plane.normal);
  const point = (i: number): readonly [number, number] => {
    const [x, y, z] = [positions[3 * i], positions[3 * i + 1], positions[3 * i + 2]];
    return [u[0] * x + u[1] * y + u[2] * z, side * (v[0] * x + v[1] * y + v[2] * z)];
  };
  const [from, to] = openEdgesReversed(triangles, onPlane);
  const cap = capTriangles(from, to, point);
  if (cap === undefined) {
    const [nx, ny, nz] = plane.normal;
    throw new StonehandError(
      'GEOMETRY_FAILED',
      `the cut at ${plane.offsetMm} along ${nx} ${ny} ${nz} leaves edges that do not close`,
      'Move the cut a little, or repair the mesh first.',
    );
  }
  return compact([...triangles, ...cap], positions, originMm);
}

/** Edges in the plane that one triangle of this half walks alone, turned round: those the cap has to walk. */
function openEdgesReversed(triangles: readonly number[], onPlane: Uint8Array): [number[], number[]] {
  const count = onPlane.length;
  const open = new Map<number, number>();
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) {
      const a = triangles[t + k];
      const b = triangles[t + ((k + 1) % 3)];
      if (onPlane[a] === 0 || onPlane[b] === 0) continue;
      const opposite = b * count + a;
      const waiting = open.get(opposite) ?? 0;
      if (waiting > 1) open.set(opposite, waiting - 1);
      else if (waiting === 1) open.delete(opposite);
      else open.set(a * count + b, (open.get(a * count + b) ?? 0) + 1);
    }
  }
  const from: number[] = [];
  const to: number[] = [];
  for (const [key, times] of open) {
    for (let i = 0; i < times; i++) {
      from.push(key % count);
      to.push(Math.floor(key / count));
    }
  }
  return [from, to];
}

function compact(triangles: readonly number[], positions: Float64Array, originMm: Vec3): Mesh {
  const name = new Int32Array(positions.length / 3).fill(-1);
  const kept: number[] = [];
  const renamed = new Uint32Array(triangles.length);
  for (let i = 0; i < triangles.length; i++) {
    const v = triangles[i];
    if (name[v] < 0) {
      name[v] = kept.length / 3;
      kept.push(positions[3 * v], positions[3 * v + 1], positions[3 * v + 2]);
    }
    renamed[i] = name[v];
  }
  return { positions: Float64Array.from(kept), triangles: renamed, originMm };
}
