import type { Mesh } from '@stonehand/model';
import { boundingBox } from './bounding-box.ts';
import { turnAround } from './winding.ts';

/**
 * Volume of everything the surface winds round at least once, by columns straight up on a grid: what overlaps counts once.
 * Independent of any rebuilt solid and of the exact integrals, to compare them with; on 256 × 256 columns within about
 * 0.5 % for bodies that are not thin against the grid.
 * @param mesh closed, facing outwards
 * @param columns along the longer side of the box
 * @returns in the cube of the mesh's unit
 */
export function columnVolume(mesh: Mesh, columns = 256): number {
  const { positions: p, triangles, originMm } = mesh;
  const { min, max } = boundingBox(mesh);
  const side = Math.max(max[0] - min[0], max[1] - min[1]) / columns;
  if (!(side > 0)) return 0;
  const nx = Math.max(1, Math.ceil((max[0] - min[0]) / side));
  const ny = Math.max(1, Math.ceil((max[1] - min[1]) / side));
  const x0 = min[0] - originMm[0] + side / 2;
  const y0 = min[1] - originMm[1] + side / 2;
  const hits: number[][] = Array.from({ length: nx * ny }, () => []);
  for (let h = 0; h < triangles.length; h += 3) {
    const a = 3 * triangles[h];
    const b = 3 * triangles[h + 1];
    const c = 3 * triangles[h + 2];
    const iEnd = Math.min(nx - 1, Math.floor((Math.max(p[a], p[b], p[c]) - x0) / side));
    const jEnd = Math.min(ny - 1, Math.floor((Math.max(p[a + 1], p[b + 1], p[c + 1]) - y0) / side));
    const iFrom = Math.max(0, Math.ceil((Math.min(p[a], p[b], p[c]) - x0) / side));
    const jFrom = Math.max(0, Math.ceil((Math.min(p[a + 1], p[b + 1], p[c + 1]) - y0) / side));
    for (let i = iFrom; i <= iEnd; i++) {
      for (let j = jFrom; j <= jEnd; j++) addHit(p, a, b, c, x0 + i * side, y0 + j * side, hits[i * ny + j]);
    }
  }
  let length = 0;
  for (const column of hits) length += coveredLength(column);
  return length * side * side;
}

/** Where the column passes the triangle: height, then +1 when the triangle faces up and −1 when it faces down. */
function addHit(
  p: Float32Array | Float64Array,
  a: number,
  b: number,
  c: number,
  x: number,
  y: number,
  hits: number[],
): void {
  const turn = turnAround(p, a, b, x, y);
  if (turn === 0 || turn !== turnAround(p, b, c, x, y) || turn !== turnAround(p, c, a, x, y)) return;
  const ux = p[b] - p[a];
  const uy = p[b + 1] - p[a + 1];
  const vx = p[c] - p[a];
  const vy = p[c + 1] - p[a + 1];
  const area = ux * vy - uy * vx;
  if (area === 0) return;
  const s = ((x - p[a]) * vy - (y - p[a + 1]) * vx) / area;
  const t = (ux * (y - p[a + 1]) - uy * (x - p[a])) / area;
  hits.push(p[a + 2] + s * (p[b + 2] - p[a + 2]) + t * (p[c + 2] - p[a + 2]), turn);
}

function coveredLength(hits: readonly number[]): number {
  const order = Array.from({ length: hits.length / 2 }, (_, i) => 2 * i).sort((i, j) => hits[i] - hits[j] || i - j);
  let winding = 0;
  let length = 0;
  let from = 0;
  for (const i of order) {
    const before = winding;
    winding -= hits[i + 1]; // going up, a face that looks down is an entry
    if (before <= 0 && winding > 0) from = hits[i];
    if (before > 0 && winding <= 0) length += hits[i] - from;
  }
  return length;
}
