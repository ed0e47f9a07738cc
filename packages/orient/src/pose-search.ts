import type { Random } from '@stonehand/base';
import type { Recipe, Vec3 } from '@stonehand/model';
import { LIMIT_SLACK } from './overhang-area.ts';
import { type PoseWeights, poseCost } from './pose-cost.ts';
import { principalAxes } from './principal-axes.ts';
import { restFaces } from './rest-faces.ts';
import { AXIS_RAD, unit } from './rotation.ts';
import { sampledNeed } from './sampled-need.ts';
import { leanOf } from './standing.ts';
import type { Subject } from './subject.ts';
import { surfaceSamples } from './surface-samples.ts';

export type SearchWays = Readonly<{
  weights: PoseWeights;
  /** directions tried on the sphere */
  rounds: number;
  random: Random;
  /** what a direction costs besides, in the same measure; Infinity forbids it */
  extra: (down: Vec3) => number;
  /** the only directions to look at, when said */
  only?: readonly Vec3[];
  finalists: number;
}>;

type Tried = { readonly down: Vec3; readonly cost: number };

const FACES = 48;
const STARTS = 8;
const COARSE = 4000;
const FINE = 16000;
/** Finer steps of the climb change a measure by samples no more. */
const LEAST_STEP = 0.005;
/** Directions nearer than this to a better one are not measured. */
const APART_RAD = Math.PI / 60;

/**
 * Directions of "down" worth measuring, roughly best first: resting faces, axes, and directions all over the sphere with
 * the best of them refined by small steps, no two within 3°. Ranked by samples of the surface (sampled-need.ts), so parts
 * below are seen, bridges not. Everything but the axes turns with the part, so another way of modelling it gives the same ones.
 */
export function roughlyBest(subject: Subject, recipe: Recipe, ways: SearchWays): Vec3[] {
  if (ways.only !== undefined) return [...ways.only];
  const coarse = costBySamples(subject, recipe, ways, COARSE);
  const [a, b, c] = principalAxes(surfaceSamples(subject.mesh, COARSE));
  const tried: Tried[] = [];
  for (const { down } of restFaces(subject).slice(0, FACES)) tried.push({ down, cost: coarse(down) });
  for (const down of AXES) tried.push({ down, cost: coarse(down) });
  for (let i = 0; i < ways.rounds; i++) {
    const [x, y, z] = fibonacci(i, ways.rounds);
    const down: Vec3 = [
      x * a[0] + y * b[0] + z * c[0],
      x * a[1] + y * b[1] + z * c[1],
      x * a[2] + y * b[2] + z * c[2],
    ];
    tried.push({ down, cost: coarse(down) });
  }
  const fine = costBySamples(subject, recipe, ways, FINE);
  const starts = apart(tried, STARTS, Math.PI / 20);
  const refined = starts.map((start) => climb(start, coarse, ways.random));
  const again = apart([...tried, ...refined], 3 * STARTS, APART_RAD).map(({ down }) => ({ down, cost: fine(down) }));
  const climbed = apart(again, 4, Math.PI / 30).map((start) => climb(start, fine, ways.random, 0.03));
  return apart([...again, ...climbed], ways.finalists, APART_RAD).map(({ down }) => down);
}

/** The best, without those that are near a better one. */
function apart(tried: readonly Tried[], most: number, rad: number): Tried[] {
  const chosen: Tried[] = [];
  for (const one of [...tried].sort((p, q) => p.cost - q.cost)) {
    if (chosen.length >= most || one.cost === Infinity) break;
    if (!chosen.some((other) => within(other.down, one.down, rad))) chosen.push(one);
  }
  return chosen;
}

/** Ever smaller steps aside; what is better becomes the new best. */
function climb(start: Tried, cost: (down: Vec3) => number, random: Random, from = 0.12): Tried {
  let best = start;
  for (let step = from; step > LEAST_STEP; step *= 0.85) {
    const [x, y, z] = best.down;
    const down = unit([x + step * random.normal(), y + step * random.normal(), z + step * random.normal()]);
    const found = cost(down);
    if (found < best.cost) best = { down, cost: found };
  }
  return best;
}

/** poseCost of a direction, from so many samples. */
export function costBySamples(
  subject: Subject,
  recipe: Recipe,
  ways: Pick<SearchWays, 'weights' | 'extra'>,
  count: number,
): (down: Vec3) => number {
  const limit = Math.sin((recipe.overhangFromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const touchMm = recipe.firstLayerMm / 2;
  const need = sampledNeed(surfaceSamples(subject.mesh, count), limit, touchMm);
  return (down) => {
    const extra = ways.extra(down);
    if (extra === Infinity) return Infinity;
    const { lowestMm, heightMm, tipDeg } = leanOf(subject.blocks, subject.centre, down, touchMm);
    const { volumeMm3, contactMm2, standingMm2, restMm2 } = need(down[0], down[1], down[2], lowestMm);
    const figures = {
      supportMm3: volumeMm3,
      scarMm2: contactMm2 + standingMm2,
      heightMm,
      tipDeg,
      plateMm2: restMm2,
      sizeMm: [0, 0, heightMm] as const,
    };
    return extra + poseCost(figures, subject.volumeMm3, recipe, ways.weights);
  };
}

export const AXES: readonly Vec3[] = [
  [0, 0, -1],
  [0, 0, 1],
  [-1, 0, 0],
  [1, 0, 0],
  [0, -1, 0],
  [0, 1, 0],
];

export function within(a: Vec3, b: Vec3, rad: number = AXIS_RAD): boolean {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] >= Math.cos(rad);
}

/** Point i of n spread evenly over the sphere along a spiral of golden angles (from memory). */
export function fibonacci(i: number, n: number): Vec3 {
  const z = 1 - (2 * (i + 0.5)) / n;
  const r = Math.sqrt(1 - z * z);
  const rad = i * Math.PI * (3 - Math.sqrt(5));
  return [r * Math.cos(rad), r * Math.sin(rad), z];
}
