import type { Mesh } from '@stonehand/model';

/**
 * A surface as patches for quick sums: six numbers each, the area vector (mm², outward) and the middle (mm, from the
 * mesh's origin). Small meshes keep every triangle; of large ones, faces of one small cell that face about the same way
 * are one patch; long triangles are divided.
 */
export type Patches = Float64Array;

export const PATCH = 6;
const MOST_TRIANGLES = 8_000;
const CELLS = 36;
const LEAST_ACROSS = 9;
/** Normals are told apart on a grid of 12 × 12 on each side of a cube, about 8°. */
const FACINGS = 12;

export function patchesOf(mesh: Mesh): Patches {
  const { positions: p, triangles } = mesh;
  const many = triangles.length > 3 * MOST_TRIANGLES;
  const longestMm = many ? Infinity : sizeOf(p) / LEAST_ACROSS;
  const found: number[] = [];
  const rest: number[] = [];
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) {
      const v = 3 * triangles[t + k];
      rest.push(p[v], p[v + 1], p[v + 2]);
    }
    while (rest.length > 0) divideOrAdd(rest, longestMm, found);
  }
  const single = Float64Array.from(found);
  return many ? merged(single) : single;
}

/** Takes the last triangle off the list: halved across its longest side while that is too long, else added as a patch. */
function divideOrAdd(rest: number[], longestMm: number, found: number[]): void {
  const at = rest.length - 9;
  let longest = 0;
  let from = 0;
  for (let k = 0; k < 3; k++) {
    const [i, j] = [at + 3 * k, at + 3 * ((k + 1) % 3)];
    const length = Math.hypot(rest[j] - rest[i], rest[j + 1] - rest[i + 1], rest[j + 2] - rest[i + 2]);
    if (length > longest) {
      longest = length;
      from = k;
    }
  }
  const [a, b, c] = [from, (from + 1) % 3, (from + 2) % 3].map((k) => rest.slice(at + 3 * k, at + 3 * k + 3));
  rest.length = at;
  if (longest > longestMm) {
    const m = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
    rest.push(...a, ...m, ...c, ...m, ...b, ...c);
    return;
  }
  const [bx, by, bz] = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const [cx, cy, cz] = [c[0] - a[0], c[1] - a[1], c[2] - a[2]];
  found.push((by * cz - bz * cy) / 2, (bz * cx - bx * cz) / 2, (bx * cy - by * cx) / 2);
  for (let d = 0; d < 3; d++) found.push((a[d] + b[d] + c[d]) / 3);
}

function sizeOf(p: ArrayLike<number>): number {
  let size = 0;
  for (let d = 0; d < 3; d++) {
    let low = Infinity;
    let high = -Infinity;
    for (let i = d; i < p.length; i += 3) {
      low = Math.min(low, p[i]);
      high = Math.max(high, p[i]);
    }
    size = Math.max(size, high - low);
  }
  return size;
}

function merged(single: Patches): Patches {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let k = 0; k < single.length; k += PATCH) {
    for (let d = 0; d < 3; d++) {
      low[d] = Math.min(low[d], single[k + 3 + d]);
      high[d] = Math.max(high[d], single[k + 3 + d]);
    }
  }
  const cellMm = Math.max(high[0] - low[0], high[1] - low[1], high[2] - low[2], 1e-9) / CELLS;
  const cell = (v: number, d: number): number => Math.min(CELLS - 1, Math.floor((v - low[d]) / cellMm));
  const slots = new Map<number, number>();
  const sums = new Float64Array(single.length);
  const areas: number[] = [];
  for (let k = 0; k < single.length; k += PATCH) {
    const key =
      ((cell(single[k + 3], 0) * CELLS + cell(single[k + 4], 1)) * CELLS + cell(single[k + 5], 2)) *
        (6 * FACINGS * FACINGS) +
      facing(single[k], single[k + 1], single[k + 2]);
    let slot = slots.get(key);
    if (slot === undefined) {
      slot = slots.size;
      slots.set(key, slot);
      areas.push(0);
    }
    const area = Math.hypot(single[k], single[k + 1], single[k + 2]);
    areas[slot] += area;
    for (let d = 0; d < 3; d++) {
      sums[PATCH * slot + d] += single[k + d];
      sums[PATCH * slot + 3 + d] += area * single[k + 3 + d];
    }
  }
  const patches = sums.slice(0, PATCH * slots.size);
  areas.forEach((area, slot) => {
    for (let d = 3; d < PATCH; d++) patches[PATCH * slot + d] /= area > 0 ? area : 1;
  });
  return patches;
}

/** Which cell of a cube's sides a direction goes through. */
function facing(x: number, y: number, z: number): number {
  const [ax, ay, az] = [Math.abs(x), Math.abs(y), Math.abs(z)];
  const main = Math.max(ax, ay, az);
  if (main === 0) return 0;
  const side = ax === main ? (x > 0 ? 0 : 1) : ay === main ? (y > 0 ? 2 : 3) : z > 0 ? 4 : 5;
  const [s, t] = ax === main ? [y, z] : ay === main ? [x, z] : [x, y];
  const step = (v: number): number => Math.min(FACINGS - 1, Math.floor(((v / main + 1) / 2) * FACINGS));
  return (side * FACINGS + step(s)) * FACINGS + step(t);
}
