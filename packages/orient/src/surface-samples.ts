import type { Mesh } from '@stonehand/model';

/**
 * Points spread evenly over a surface, each with the unit normal of its face: enough to tell roughly, for any way up, what
 * must be held and what lies below it. Structure of arrays; each stands for areaMm2 of surface.
 */
export type SurfaceSamples = Readonly<{
  count: number;
  areaMm2: number;
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  nx: Float64Array;
  ny: Float64Array;
  nz: Float64Array;
}>;

/**
 * Every areaMm2 along the faces in their order one point, at a place in its face that follows a sequence which fills the
 * square evenly. Nothing depends on how the mesh is turned.
 * Source: additive recurrence with powers of the plastic number (M. Roberts, from memory)
 */
export function surfaceSamples({ positions: p, triangles }: Mesh, wanted: number): SurfaceSamples {
  let total = 0;
  for (let t = 0; t < triangles.length; t += 3) total += areaOf(p, triangles, t);
  const step = total / wanted;
  const made = Array.from({ length: 6 }, () => new Float64Array(wanted));
  const [x, y, z, nx, ny, nz] = made;
  let sum = 0;
  let next = step / 2;
  let count = 0;
  for (let t = 0; t < triangles.length && count < wanted; t += 3) {
    const area = areaOf(p, triangles, t);
    sum += area;
    if (area === 0) continue;
    for (; next < sum && count < wanted; next += step) {
      let u = (0.5 + count * 0.7548776662466927) % 1;
      let v = (0.5 + count * 0.5698402909980532) % 1;
      if (u + v > 1) {
        u = 1 - u;
        v = 1 - v;
      }
      const a = 3 * triangles[t];
      const b = 3 * triangles[t + 1];
      const c = 3 * triangles[t + 2];
      const ux = p[b] - p[a];
      const uy = p[b + 1] - p[a + 1];
      const uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a];
      const vy = p[c + 1] - p[a + 1];
      const vz = p[c + 2] - p[a + 2];
      x[count] = p[a] + u * ux + v * vx;
      y[count] = p[a + 1] + u * uy + v * vy;
      z[count] = p[a + 2] + u * uz + v * vz;
      nx[count] = (uy * vz - uz * vy) / (2 * area);
      ny[count] = (uz * vx - ux * vz) / (2 * area);
      nz[count] = (ux * vy - uy * vx) / (2 * area);
      count++;
    }
  }
  return { count, areaMm2: step, x, y, z, nx, ny, nz };
}

/** Fewer of them, as evenly spread: every so many-th. */
export function thinned(samples: SurfaceSamples, wanted: number): SurfaceSamples {
  const every = strideFor(samples.count, wanted);
  const pick = (from: Float64Array): Float64Array => everyNth(from, every);
  const [x, y, z] = [pick(samples.x), pick(samples.y), pick(samples.z)];
  const [nx, ny, nz] = [pick(samples.nx), pick(samples.ny), pick(samples.nz)];
  return { count: x.length, areaMm2: (samples.areaMm2 * samples.count) / x.length, x, y, z, nx, ny, nz };
}

/** Which to take to have about so many. */
export function strideFor(count: number, wanted: number): number {
  return Math.max(1, Math.floor(count / wanted));
}

/** Every so many-th entry, from the first on. */
export function everyNth<T extends Float64Array | Uint8Array>(from: T, every: number): T {
  const count = Math.ceil(from.length / every);
  const kept = from.slice(0, count) as T;
  for (let k = 0; k < count; k++) kept[k] = from[k * every];
  return kept;
}

function areaOf(p: ArrayLike<number>, triangles: Uint32Array, t: number): number {
  const a = 3 * triangles[t];
  const b = 3 * triangles[t + 1];
  const c = 3 * triangles[t + 2];
  const ux = p[b] - p[a];
  const uy = p[b + 1] - p[a + 1];
  const uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a];
  const vy = p[c + 1] - p[a + 1];
  const vz = p[c + 2] - p[a + 2];
  const x = uy * vz - uz * vy;
  const y = uz * vx - ux * vz;
  const z = ux * vy - uy * vx;
  return Math.sqrt(x * x + y * y + z * z) / 2;
}
