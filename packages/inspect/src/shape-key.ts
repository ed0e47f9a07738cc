import { hashBytes } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';

/**
 * A name for the surface itself: the same whatever the order of triangles and vertices and whichever corner a triangle starts
 * with; another one for any other coordinate, facing or triangulation. Single and double precision of the same numbers agree.
 */
export function shapeKey(mesh: Mesh): string {
  const { positions, triangles, originMm } = mesh;
  const used = new Uint8Array(positions.length / 3);
  for (const v of triangles) used[v] = 1;
  const order: number[] = [];
  for (let v = 0; v < used.length; v++) if (used[v] === 1) order.push(v);
  order.sort((a, b) => {
    for (let k = 0; k < 3; k++) {
      const d = positions[3 * a + k] - positions[3 * b + k];
      if (d !== 0) return d;
    }
    return 0; // the same place: the same rank below
  });
  const rank = new Uint32Array(used.length);
  const points: number[] = [];
  let ranks = 0;
  order.forEach((v, i) => {
    const w = order[i - 1];
    const repeats = i > 0 && [0, 1, 2].every((k) => positions[3 * v + k] === positions[3 * w + k]);
    if (!repeats) {
      ranks++;
      // + 0 makes −0 and 0 one number.
      for (let k = 0; k < 3; k++) points.push(positions[3 * v + k] + originMm[k] + 0);
    }
    rank[v] = ranks - 1;
  });
  return hashBytes(
    new Uint8Array(Float64Array.from(points).buffer),
    new Uint8Array(sortedTriangles(triangles, rank).buffer),
  );
}

function sortedTriangles(triangles: Uint32Array, rank: Uint32Array): Uint32Array {
  const rows: [number, number, number][] = [];
  for (let k = 0; k < triangles.length; k += 3) {
    const [a, b, c] = [rank[triangles[k]], rank[triangles[k + 1]], rank[triangles[k + 2]]];
    if (a <= b && a <= c) rows.push([a, b, c]);
    else if (b <= a && b <= c) rows.push([b, c, a]);
    else rows.push([c, a, b]);
  }
  rows.sort((x, y) => x[0] - y[0] || x[1] - y[1] || x[2] - y[2]);
  return Uint32Array.from(rows.flat());
}
