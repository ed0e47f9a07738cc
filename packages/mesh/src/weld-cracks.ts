import type { Mesh } from '@stonehand/model';
import { pairEdges } from './half-edges.ts';
import { holeLoops } from './hole-loops.ts';

/** A mesh whose hairline cracks are closed by merging rim vertices that nearly coincide. */
export type WeldedCracks = Readonly<{ mesh: Mesh; merged: number; tolerance: number }>;

// In spacings of single precision at the largest coordinate: from what one rounding leaves to what six printed digits leave.
const SPACINGS: readonly number[] = [2, 8, 32, 128, 512];

/**
 * Tries rising tolerances on the vertices of rims only, so that fine detail elsewhere is never touched. Takes the smallest
 * that leaves the fewest open edges without making edges of three triangles or more.
 * @returns the mesh itself when nothing gets better
 */
export function weldCracks(mesh: Mesh): WeldedCracks {
  const pairing = pairEdges(mesh);
  const unchanged = { mesh, merged: 0, tolerance: 0 };
  if (pairing.boundaryEdges === 0) return unchanged;
  const rim = rimVertices(mesh, pairing.twins);
  const spacing = singleSpacing(mesh, rim);
  let best: WeldedCracks = unchanged;
  let open = pairing.boundaryEdges;
  for (const spacings of SPACINGS) {
    const tolerance = spacings * spacing;
    const { triangles, merged } = mergedWithin(mesh, rim, tolerance);
    if (merged === best.merged) continue;
    const candidate = { ...mesh, triangles };
    const { boundaryEdges, nonManifoldEdges } = pairEdges(candidate);
    if (boundaryEdges >= open || nonManifoldEdges > pairing.nonManifoldEdges) continue;
    best = { mesh: candidate, merged, tolerance };
    open = boundaryEdges;
    if (open === 0) break;
  }
  return best;
}

function rimVertices(mesh: Mesh, twins: Int32Array): Uint32Array {
  const rim = new Set<number>();
  for (const loop of holeLoops(mesh, twins)) {
    for (const h of loop.halfEdges) {
      rim.add(mesh.triangles[h]);
      rim.add(mesh.triangles[h % 3 === 2 ? h - 2 : h + 1]);
    }
  }
  return Uint32Array.from(rim).sort();
}

/** Distance between neighbouring numbers of single precision (24 bits, IEEE 754) at the largest coordinate. */
function singleSpacing({ positions }: Mesh, vertices: Uint32Array): number {
  let reach = 0;
  for (const v of vertices) for (let k = 0; k < 3; k++) reach = Math.max(reach, Math.abs(positions[3 * v + k]));
  return reach > 0 ? 2 ** (Math.floor(Math.log2(reach)) - 23) : 0;
}

/** Each vertex goes to the nearest earlier one within the tolerance that stays; so none moves farther than that. */
function mergedWithin({ positions: p, triangles }: Mesh, vertices: Uint32Array, tolerance: number): Merged {
  const target = new Uint32Array(p.length / 3);
  for (let v = 0; v < target.length; v++) target[v] = v;
  const cells = new Map<number, number[]>();
  const cellOf = (x: number): number => Math.floor(x / tolerance);
  let merged = 0;
  for (const v of vertices) {
    const x = cellOf(p[3 * v]);
    const y = cellOf(p[3 * v + 1]);
    const z = cellOf(p[3 * v + 2]);
    const near = nearest(p, v, cells, x, y, z, tolerance);
    if (near >= 0) {
      target[v] = near;
      merged++;
      continue;
    }
    const key = cellKey(x, y, z);
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [v]);
    else cell.push(v);
  }
  return { triangles: merged === 0 ? triangles : triangles.map((v) => target[v]), merged };
}

type Merged = Readonly<{ triangles: Uint32Array; merged: number }>;

function nearest(
  p: Float32Array | Float64Array,
  v: number,
  cells: ReadonlyMap<number, readonly number[]>,
  x: number,
  y: number,
  z: number,
  tolerance: number,
): number {
  let best = tolerance;
  let found = -1;
  for (let k = 0; k < 27; k++) {
    const cell = cells.get(cellKey(x + (k % 3) - 1, y + (Math.floor(k / 3) % 3) - 1, z + Math.floor(k / 9) - 1));
    for (const u of cell ?? []) {
      const distance = Math.hypot(p[3 * u] - p[3 * v], p[3 * u + 1] - p[3 * v + 1], p[3 * u + 2] - p[3 * v + 2]);
      if (distance > best || (distance === best && found >= 0 && u > found)) continue;
      best = distance;
      found = u;
    }
  }
  return found;
}

/** Cells that share a key only cost a comparison: distances decide. */
function cellKey(x: number, y: number, z: number): number {
  return (Math.imul(x | 0, 73856093) ^ Math.imul(y | 0, 19349663) ^ Math.imul(z | 0, 83492791)) | 0;
}
