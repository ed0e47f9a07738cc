import { fibonacci } from './sphere.ts';
import type { SurfaceSamples } from './surface-samples.ts';

const DIRECTIONS = 40;
const LEAST_FACING = 0.5;
/** Seen from one direction only may be through a bore. */
const LEAST_SEEN = 2;

/**
 * Which samples of a surface can be seen from outside: from at least two of forty directions nothing lies in front of them. The
 * part is looked at alone; what others hide when it is assembled still counts as seen.
 */
export function seenFromOutside({ count, x, y, z, nx, ny, nz, areaMm2 }: SurfaceSamples): Uint8Array {
  const cellMm = Math.sqrt(4 * areaMm2);
  const times = new Uint8Array(count);
  const cellOf = new Int32Array(count);
  const [cx, cy, cz] = [x, y, z].map((along) => along.reduce((sum, v) => sum + v, 0) / count);
  let reach = 0;
  for (let i = 0; i < count; i++) reach = Math.max(reach, Math.hypot(x[i] - cx, y[i] - cy, z[i] - cz));
  const half = Math.ceil(reach / cellMm) + 1;
  const columns = 2 * half + 1;
  const nearest = new Float64Array(columns * columns);
  for (let k = 0; k < DIRECTIONS; k++) {
    const [dx, dy, dz] = fibonacci(k, DIRECTIONS);
    const s = dz >= 0 ? 1 : -1;
    const a = -1 / (s + dz);
    const b = dx * dy * a;
    const [ux, uy, uz] = [1 + s * dx * dx * a, s * b, -s * dx];
    const [vx, vy, vz] = [b, s + dy * dy * a, -dy];
    nearest.fill(-Infinity);
    for (let i = 0; i < count; i++) {
      const u = Math.round(((x[i] - cx) * ux + (y[i] - cy) * uy + (z[i] - cz) * uz) / cellMm);
      const v = Math.round(((x[i] - cx) * vx + (y[i] - cy) * vy + (z[i] - cz) * vz) / cellMm);
      const cell = (v + half) * columns + u + half;
      cellOf[i] = cell;
      const nearness = x[i] * dx + y[i] * dy + z[i] * dz;
      if (nearness > nearest[cell]) nearest[cell] = nearness;
    }
    for (let i = 0; i < count; i++) {
      if (nx[i] * dx + ny[i] * dy + nz[i] * dz < LEAST_FACING) continue;
      // A slope of up to 60° falls by two cells within one.
      if (x[i] * dx + y[i] * dy + z[i] * dz > nearest[cellOf[i]] - 2 * cellMm) times[i]++;
    }
  }
  return times.map((n) => (n >= LEAST_SEEN ? 1 : 0));
}
