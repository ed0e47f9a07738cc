import { hull2 } from './hull2.ts';

/**
 * Hull of points that all lie in one plane (or on a line, or in one place): the outline as a fan of triangles on both
 * sides. Without a plane there are only vertices.
 */
export function flatHull(p: ArrayLike<number>): { vertices: Uint32Array; triangles: Uint32Array } {
  const outline = outlineOf(p);
  const triangles: number[] = [];
  for (let k = 1; k + 1 < outline.length; k++) {
    triangles.push(outline[0], outline[k], outline[k + 1], outline[0], outline[k + 1], outline[k]);
  }
  return { vertices: Uint32Array.from(outline).sort(), triangles: Uint32Array.from(triangles) };
}

/** Indices of the outline's corners; seen along the axis on which the points' outline is largest. */
function outlineOf(p: ArrayLike<number>): number[] {
  let best: number[] = [];
  let largest = -1;
  for (let axis = 0; axis < 3; axis++) {
    const u = (axis + 1) % 3;
    const v = (axis + 2) % 3;
    const xy = new Float64Array((2 * p.length) / 3);
    for (let i = 0; i < p.length / 3; i++) {
      xy[2 * i] = p[3 * i + u];
      xy[2 * i + 1] = p[3 * i + v];
    }
    const hull = hull2(xy);
    const size = hull.length < 6 ? spanOf(hull) * 1e-30 : areaOf(hull);
    if (size <= largest) continue;
    largest = size;
    const indexOf = new Map<string, number>();
    for (let i = p.length / 3 - 1; i >= 0; i--) indexOf.set(`${xy[2 * i] + 0},${xy[2 * i + 1] + 0}`, i);
    best = [];
    for (let k = 0; k < hull.length; k += 2) best.push(indexOf.get(`${hull[k] + 0},${hull[k + 1] + 0}`)!);
  }
  return best;
}

function spanOf(hull: Float64Array): number {
  return hull.length < 4 ? 0 : Math.hypot(hull[2] - hull[0], hull[3] - hull[1]);
}

function areaOf(hull: Float64Array): number {
  let sum = 0;
  for (let i = 0, j = hull.length - 2; i < hull.length; j = i, i += 2)
    sum += hull[j] * hull[i + 1] - hull[i] * hull[j + 1];
  return sum / 2;
}
