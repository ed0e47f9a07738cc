import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Recipe, SupportCause, Vec3 } from '@stonehand/model';
import type { SupportFaces } from './support-faces.ts';
import { facesInNeed, needOfFaces, type SupportOptions } from './support-need.ts';

const CELLS = 128;

/**
 * The few patches of faces that cause most of the support of a way up, largest first: what to change, or where alone to allow
 * support. A patch is faces in need joined by edges; its share is what it needs with all others left out, so a patch that hangs
 * in the shadow of another counts whole, and shares may add up to more than 1.
 */
export function supportCauses(
  mesh: Mesh,
  rotation: readonly number[],
  recipe: Recipe,
  { most = 3, ...options }: SupportOptions & Readonly<{ most?: number }> = {},
): SupportCause[] {
  const twins = halfEdgeTwins(mesh);
  // Along the pose's own axes, in which people see the sizes.
  const asked = { mostCells: CELLS, ...options, twins: () => twins, gridRad: 0 };
  const faces = facesInNeed(mesh, rotation, recipe, asked);
  const whole = needOfFaces(mesh, faces, recipe, asked).volumeMm3;
  if (whole === 0) return [];
  const patches = patchesOf(faces, twins)
    .map((patch) => ({ patch, bound: columnsUnder(mesh, faces, patch) }))
    .sort((a, b) => b.bound - a.bound || a.patch[0] - b.patch[0])
    .slice(0, most + 2);
  const causes = patches.map(({ patch }) => {
    const needs = new Uint8Array(faces.needs.length);
    for (const t of patch) needs[t] = faces.needs[t];
    const alone = needOfFaces(mesh, { ...faces, needs }, recipe, asked);
    return { ...placeOf(mesh, faces, patch), volumeMm3: alone.volumeMm3, share: alone.volumeMm3 / whole };
  });
  return causes
    .filter(({ share }) => share > 0.01)
    .sort((a, b) => b.volumeMm3 - a.volumeMm3)
    .slice(0, most);
}

function patchesOf({ needs }: SupportFaces, twins: Int32Array): number[][] {
  const seen = new Uint8Array(needs.length);
  const patches: number[][] = [];
  for (let t = 0; t < needs.length; t++) {
    if (needs[t] === 0 || seen[t] === 1) continue;
    const patch = [t];
    seen[t] = 1;
    for (let k = 0; k < patch.length; k++) {
      for (let h = 3 * patch[k]; h < 3 * patch[k] + 3; h++) {
        const next = twins[h] < 0 ? -1 : (twins[h] / 3) | 0;
        if (next < 0 || seen[next] === 1 || needs[next] === 0) continue;
        seen[next] = 1;
        patch.push(next);
      }
    }
    patches.push(patch);
  }
  return patches;
}

function columnsUnder({ triangles }: Mesh, { xyz }: SupportFaces, patch: readonly number[]): number {
  let volume = 0;
  for (const t of patch) {
    const [a, b, c] = [3 * triangles[3 * t], 3 * triangles[3 * t + 1], 3 * triangles[3 * t + 2]];
    const twice = (xyz[c] - xyz[a]) * (xyz[b + 1] - xyz[a + 1]) - (xyz[b] - xyz[a]) * (xyz[c + 1] - xyz[a + 1]);
    volume += (twice / 6) * (xyz[a + 2] + xyz[b + 2] + xyz[c + 2]);
  }
  return volume;
}

function placeOf(
  { triangles, positions, originMm }: Mesh,
  { xyz, needs }: SupportFaces,
  patch: readonly number[],
): Pick<SupportCause, 'areaMm2' | 'boxMm' | 'sizeMm' | 'atHeightMm' | 'level'> {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  const [sx, sy, big] = [
    [Infinity, -Infinity],
    [Infinity, -Infinity],
    [0, 0],
  ];
  let bottom = Infinity;
  for (const t of patch) {
    for (let k = 3 * t; k < 3 * t + 3; k++) {
      const v = 3 * triangles[k];
      for (let d = 0; d < 3; d++) {
        low[d] = Math.min(low[d], positions[v + d] + originMm[d]);
        high[d] = Math.max(high[d], positions[v + d] + originMm[d]);
      }
      sx[0] = Math.min(sx[0], xyz[v]);
      sx[1] = Math.max(sx[1], xyz[v]);
      sy[0] = Math.min(sy[0], xyz[v + 1]);
      sy[1] = Math.max(sy[1], xyz[v + 1]);
      bottom = Math.min(bottom, xyz[v + 2]);
    }
    const area = areaOf(triangles, xyz, t);
    big[0] += area;
    if (needs[t] === 2) big[1] += area;
  }
  const sizes = [sx[1] - sx[0], sy[1] - sy[0]].sort((p, q) => q - p);
  return {
    areaMm2: big[0],
    boxMm: { min: low as unknown as Vec3, max: high as unknown as Vec3 },
    sizeMm: [sizes[0], sizes[1]],
    atHeightMm: bottom,
    level: big[1] > 0.5 * big[0],
  };
}

function areaOf(triangles: Uint32Array, p: Float64Array, t: number): number {
  const [a, b, c] = [3 * triangles[3 * t], 3 * triangles[3 * t + 1], 3 * triangles[3 * t + 2]];
  const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
  const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
}
