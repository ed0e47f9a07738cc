import type { Random } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { triangleArea } from './surface-moments.ts';

/** Points spread evenly over the surface by area (one in each of n equal shares, at random within it): 3·n numbers. */
export function surfaceSamples({ positions: p, triangles: t }: Mesh, n: number, random: Random): Float64Array {
  const out = new Float64Array(3 * n);
  const sums = new Float64Array(t.length / 3);
  let total = 0;
  for (let k = 0; k < sums.length; k++) {
    total += triangleArea(p, 3 * t[3 * k], 3 * t[3 * k + 1], 3 * t[3 * k + 2]);
    sums[k] = total;
  }
  let at = 0;
  for (let i = 0; i < n; i++) {
    const target = ((i + random.next()) / n) * total;
    while (at < sums.length - 1 && sums[at] < target) at++;
    // Even over the triangle: fold the square's upper half back.
    let u = random.next();
    let v = random.next();
    if (u + v > 1) {
      u = 1 - u;
      v = 1 - v;
    }
    const [a, b, c] = [3 * t[3 * at], 3 * t[3 * at + 1], 3 * t[3 * at + 2]];
    for (let k = 0; k < 3; k++) out[3 * i + k] = p[a + k] + u * (p[b + k] - p[a + k]) + v * (p[c + k] - p[a + k]);
  }
  return out;
}
