import { fibonacci } from './sphere.ts';
import type { SurfaceSamples } from './surface-samples.ts';

const DIRECTIONS = 60;
const LEAST_FACING = 0.5;
/** Seen from one direction only may be through a bore. */
const LEAST_SEEN = 2;

/**
 * Which samples of a surface can be seen from outside: from at least two of sixty directions nothing lies in front of them. The
 * part is looked at alone; what others hide when it is assembled still counts as seen.
 */
export function seenFromOutside({ count, x, y, z, nx, ny, nz, areaMm2 }: SurfaceSamples): Uint8Array {
  const cellMm = Math.sqrt(4 * areaMm2);
  const times = new Uint8Array(count);
  const cells = new Map<number, number>();
  for (let k = 0; k < DIRECTIONS; k++) {
    const [dx, dy, dz] = fibonacci(k, DIRECTIONS);
    const s = dz >= 0 ? 1 : -1;
    const a = -1 / (s + dz);
    const b = dx * dy * a;
    const cellOf = (i: number): number => {
      const u = x[i] * (1 + s * dx * dx * a) + y[i] * s * b - z[i] * s * dx;
      const v = x[i] * b + y[i] * (s + dy * dy * a) - z[i] * dy;
      return Math.round(v / cellMm) * 100_003 + Math.round(u / cellMm);
    };
    cells.clear();
    for (let i = 0; i < count; i++) {
      const nearness = x[i] * dx + y[i] * dy + z[i] * dz;
      const cell = cellOf(i);
      if (nearness > (cells.get(cell) ?? -Infinity)) cells.set(cell, nearness);
    }
    for (let i = 0; i < count; i++) {
      if (nx[i] * dx + ny[i] * dy + nz[i] * dz < LEAST_FACING) continue;
      // A slope of up to 60° falls by two cells within one.
      if (x[i] * dx + y[i] * dy + z[i] * dz > cells.get(cellOf(i))! - 2 * cellMm) times[i]++;
    }
  }
  return times.map((n) => (n >= LEAST_SEEN ? 1 : 0));
}
