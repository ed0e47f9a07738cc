import { fibonacci } from './sphere.ts';

/** Of the points those that are farthest in some of so many directions: enough to rank by, a fraction of the work. */
export function farthestPoints(points: Float64Array, directions: number): Float64Array {
  const kept = new Set<number>();
  for (let d = 0; d < directions; d++) {
    const [x, y, z] = fibonacci(d, directions);
    let best = 0;
    let most = -Infinity;
    for (let i = 0; i < points.length; i += 3) {
      const reach = points[i] * x + points[i + 1] * y + points[i + 2] * z;
      if (reach > most) {
        most = reach;
        best = i;
      }
    }
    kept.add(best);
  }
  const order = [...kept].sort((a, b) => a - b);
  return Float64Array.from(order.flatMap((i) => [points[i], points[i + 1], points[i + 2]]));
}
