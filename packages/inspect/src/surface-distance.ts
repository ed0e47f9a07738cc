import { seededRandom } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { surfaceArea } from './surface-moments.ts';
import { surfaceSamples } from './surface-samples.ts';
import { buildTree, type Nearest, nearestPoint, type TriangleTree } from './triangle-tree.ts';

export type SurfaceDistance = Readonly<{
  meanMm: number;
  /** standard error of the mean, from the spread of the samples */
  meanErrorMm: number;
  /** largest distance found, at samples and corners; the true largest is at least this */
  maxMm: number;
  /** a difference narrower than about this may lie between the samples and be missed */
  blindMm: number;
  samples: number;
}>;

const MOST_CORNERS = 20_000;

/**
 * How far two surfaces lie apart where they are: even samples of each, and the corners of each, against the nearest point of the other.
 * Both ways, so that something added and something taken away count alike.
 */
export function surfaceDistance(
  a: Mesh,
  b: Mesh,
  {
    samples = 2000,
    seed = 1,
    corners = true,
    treeA = buildTree(a),
    treeB = buildTree(b),
  }: Readonly<{ samples?: number; seed?: number; corners?: boolean; treeA?: TriangleTree; treeB?: TriangleTree }> = {},
): SurfaceDistance {
  const random = seededRandom(seed);
  const there = measure(surfaceSamples(a, samples, random), treeB);
  const back = measure(surfaceSamples(b, samples, random), treeA);
  const atCorners = !corners ? 0 : Math.max(measure(corner(a), treeB).max, measure(corner(b), treeA).max);
  const n = 2 * samples;
  const mean = (there.sum + back.sum) / n;
  const variance = Math.max(0, (there.squares + back.squares) / n - mean * mean);
  const areaShare = Math.max(surfaceArea(a), surfaceArea(b)) / samples;
  return {
    meanMm: mean,
    meanErrorMm: Math.sqrt(variance / n),
    maxMm: Math.max(there.max, back.max, atCorners),
    // Two points drawn one in each equal share are seldom further apart than two shares are wide.
    blindMm: 2 * Math.sqrt(areaShare),
    samples: n,
  };
}

function measure(points: Float64Array, tree: TriangleTree): { sum: number; squares: number; max: number } {
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  let sum = 0;
  let squares = 0;
  let max = 0;
  for (let i = 0; i < points.length; i += 3) {
    const d2 = nearestPoint(tree, points[i], points[i + 1], points[i + 2], hit).distance2;
    const d = Math.sqrt(d2);
    sum += d;
    squares += d2;
    if (d > max) max = d;
  }
  return { sum, squares, max };
}

function corner({ positions, triangles }: Mesh): Float64Array {
  const step = Math.max(1, Math.ceil(triangles.length / MOST_CORNERS));
  const out = new Float64Array(3 * Math.ceil(triangles.length / step));
  for (let k = 0, i = 0; k < triangles.length; k += step, i += 3) {
    for (let j = 0; j < 3; j++) out[i + j] = positions[3 * triangles[k] + j];
  }
  return out;
}
