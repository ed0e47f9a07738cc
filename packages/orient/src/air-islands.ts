import type { Mesh } from '@stonehand/model';

/** Vertices at one height: a thousandth of a layer. */
const LEVEL_MM = 2e-4;

/**
 * How many pieces of a posed part begin in mid-air: lowest points, edges or faces that nothing of the part leads down from, and
 * that look down. Each of them needs support whatever its slope, for its first layer has nothing to lie on.
 * @param touchMm what begins lower than this stands on the plate
 */
export function airIslands({ positions: p, triangles }: Mesh, r: readonly number[], touchMm: number): number {
  const count = p.length / 3;
  const height = new Float64Array(count);
  let low = Infinity;
  for (let i = 0; i < count; i++) {
    height[i] = r[6] * p[3 * i] + r[7] * p[3 * i + 1] + r[8] * p[3 * i + 2];
    if (height[i] < low) low = height[i];
  }
  const parent = new Int32Array(count);
  for (let i = 0; i < count; i++) parent[i] = i;
  const rootOf = (i: number): number => {
    let at = i;
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]];
      at = parent[at];
    }
    return at;
  };
  for (let k = 0; k < triangles.length; k++) {
    const a = triangles[k];
    const b = triangles[k % 3 === 2 ? k - 2 : k + 1];
    if (Math.abs(height[a] - height[b]) <= LEVEL_MM) parent[rootOf(a)] = rootOf(b);
  }
  const leadsDown = new Uint8Array(count);
  const facing = new Float64Array(count);
  for (let t = 0; t < triangles.length; t += 3) {
    const a = 3 * triangles[t];
    const b = 3 * triangles[t + 1];
    const c = 3 * triangles[t + 2];
    const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const up = r[6] * (uy * vz - uz * vy) + r[7] * (uz * vx - ux * vz) + r[8] * (ux * vy - uy * vx);
    const least = Math.min(height[triangles[t]], height[triangles[t + 1]], height[triangles[t + 2]]);
    for (let k = t; k < t + 3; k++) {
      const root = rootOf(triangles[k]);
      facing[root] += up;
      if (height[triangles[k]] - least > LEVEL_MM) leadsDown[root] = 1;
    }
  }
  let islands = 0;
  for (let i = 0; i < count; i++) {
    // A vertex of no face is its own root, looks nowhere and begins nothing.
    if (parent[i] === i && leadsDown[i] === 0 && facing[i] < 0 && height[i] - low > touchMm) islands++;
  }
  return islands;
}
