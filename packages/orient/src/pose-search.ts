import type { Random } from '@stonehand/base';
import type { Recipe, Vec3 } from '@stonehand/model';
import { directionsOnCircles, type LimitCircles, limitCircles, snappedToCircles } from './limit-circles.ts';
import { normalBins } from './normal-bins.ts';
import { LIMIT_SLACK } from './overhang-area.ts';
import { type PoseWeights, poseCost } from './pose-cost.ts';
import { principalAxes } from './principal-axes.ts';
import { restFaces } from './rest-faces.ts';
import { unit } from './rotation.ts';
import { sampledNeed } from './sampled-need.ts';
import { AXES, fibonacci, within } from './sphere.ts';
import { leanOf } from './standing.ts';
import type { Subject } from './subject.ts';
import { everyNth, strideFor, thinned } from './surface-samples.ts';

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
/** Samples of the surface for the first look at every direction and for the better ones; for the best all of them. */
const COARSE = 600;
const MIDDLE = 2400;
const BETTER = 48;
const BEST = 14;
const STARTS = 6;
const NARROWER = [0.7, 0.5, 0.25, 0];
/** Finer steps of the climb change a measure by samples no more. */
const LEAST_STEP = 0.005;
/** Directions nearer than this to a better one are not measured. */
const APART_RAD = Math.PI / 60;

/**
 * Directions of "down" worth measuring, roughly best first: resting faces, axes, directions that hold flat faces right at the
 * limit, and directions all over the sphere with the best of them refined by small steps, no two within 3°. Ranked by samples
 * of the surface (sampled-need.ts), so parts below are seen, bridges not. Everything but the axes turns with the part, so another
 * way of modelling it gives the same ones.
 */
export function roughlyBest(
  subject: Subject,
  recipe: Recipe,
  ways: SearchWays,
): Readonly<{ cheapest: readonly Vec3[]; narrower: readonly Vec3[] }> {
  if (ways.only !== undefined) return { cheapest: ways.only, narrower: [] };
  const limit = Math.sin((recipe.overhangFromVerticalDeg * Math.PI) / 180);
  const circles = limitCircles(normalBins(subject.mesh), limit);
  const samples = subject.samples();
  const resting = restFaces(subject).slice(0, FACES);
  const plain: readonly Vec3[] = [...AXES, ...resting.map(({ down }) => down)];
  const directions = [
    ...plain,
    ...directionsOnCircles(circles),
    ...overTheSphere(principalAxes(thinned(samples, MIDDLE)), ways.rounds),
  ];
  const looks = [COARSE, MIDDLE, samples.count].map((count) => costFavouring(plain, subject, recipe, ways, count));
  const again = (tried: readonly Tried[], cost: (down: Vec3) => number): Tried[] =>
    tried.map(({ down }) => ({ down, cost: cost(down) }));
  const [coarse, middle, fine] = looks;
  const all = directions.map((down) => ({ down, cost: coarse(down) }));
  const better = again(apart(all, BETTER, APART_RAD), middle);
  const refined = apart(better, STARTS, Math.PI / 20).map((s) => climb(s, middle, circles, ways.random, 0.12));
  const best = again(apart([...better, ...refined], BEST, APART_RAD), fine);
  const climbed = apart(best, 3, Math.PI / 30).map((start) => climb(start, fine, circles, ways.random, 0.03));
  const cheapest = apart([...best, ...climbed], ways.finalists, APART_RAD);
  const others = narrower(subject, better.concat(all), cheapest);
  return { cheapest: cheapest.map(({ down }) => down), narrower: others.map(({ down }) => down) };
}

/** For plates on which the cheapest way does not fit: the cheapest of those whose shadows are narrower, in four steps. */
function narrower(subject: Subject, tried: readonly Tried[], cheapest: readonly Tried[]): Tried[] {
  if (cheapest.length === 0) return [];
  const radii = tried.map(({ down }) => shadowRadius(subject.outermost, down));
  const least = Math.min(...radii);
  const wide = shadowRadius(subject.outermost, cheapest[0].down);
  const found: Tried[] = [];
  for (const share of NARROWER) {
    const allowed = least + share * (wide - least);
    let best: Tried | undefined;
    tried.forEach((one, i) => {
      if (radii[i] <= 1.02 * allowed && (best === undefined || one.cost < best.cost)) best = one;
    });
    if (best !== undefined && ![...cheapest, ...found].some(({ down }) => within(down, best!.down, APART_RAD))) {
      found.push(best);
    }
  }
  return found;
}

/** Half the longest diagonal of a shadow, about the middle of the part: no more than twice what a circle around it needs. */
function shadowRadius(points: Float64Array, down: Vec3): number {
  let most = 0;
  for (let i = 0; i < points.length; i += 3) {
    const [x, y, z] = [points[i], points[i + 1], points[i + 2]];
    const along = x * down[0] + y * down[1] + z * down[2];
    const square = x * x + y * y + z * z - along * along;
    if (square > most) most = square;
  }
  return Math.sqrt(most);
}

/** A flat face right on the plate is worth more than one a tenth of a degree off, which samples cannot tell apart. */
const PLAIN_SHARE = 0.98;

function costFavouring(
  plain: readonly Vec3[],
  subject: Subject,
  recipe: Recipe,
  ways: SearchWays,
  wanted: number,
): (down: Vec3) => number {
  const favoured = new Set(plain);
  const cost = costBySamples(subject, recipe, ways, wanted);
  return (down) => (favoured.has(down) ? PLAIN_SHARE : 1) * cost(down);
}

function overTheSphere([a, b, c]: readonly [Vec3, Vec3, Vec3], count: number): Vec3[] {
  return Array.from({ length: count }, (_, i): Vec3 => {
    const [x, y, z] = fibonacci(i, count);
    return [x * a[0] + y * b[0] + z * c[0], x * a[1] + y * b[1] + z * c[1], x * a[2] + y * b[2] + z * c[2]];
  });
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

/** Ever smaller steps aside, also to where a flat face nearby is at the limit; what is better becomes the new best. */
function climb(start: Tried, cost: (down: Vec3) => number, circles: LimitCircles, random: Random, from: number): Tried {
  let best = start;
  for (let step = from; step > LEAST_STEP; step *= 0.85) {
    const [x, y, z] = best.down;
    const aside = unit([x + step * random.normal(), y + step * random.normal(), z + step * random.normal()]);
    for (const down of [aside, ...snappedToCircles(aside, circles, 2 * step)]) {
      const found = cost(down);
      if (found < best.cost) best = { down, cost: found };
    }
  }
  return best;
}

/** poseCost of a direction, from samples of the surface. */
export function costBySamples(
  subject: Subject,
  recipe: Recipe,
  ways: Pick<SearchWays, 'weights' | 'extra'>,
  wanted: number,
): (down: Vec3) => number {
  const limit = Math.sin((recipe.overhangFromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const touchMm = recipe.firstLayerMm / 2;
  const all = subject.samples();
  const shows = everyNth(subject.shows(), strideFor(all.count, wanted));
  const need = sampledNeed(thinned(all, wanted), limit, touchMm, shows);
  return (down) => {
    const extra = ways.extra(down);
    if (extra === Infinity) return Infinity;
    const { lowestMm, heightMm, tipDeg } = leanOf(subject.blocks, subject.centre, down, touchMm);
    const { volumeMm3, contactMm2, standingMm2, restMm2, shownMm2 } = need(down[0], down[1], down[2], lowestMm);
    const figures = {
      supportMm3: volumeMm3,
      scarMm2: contactMm2 + standingMm2,
      shownScarMm2: shownMm2,
      heightMm,
      tipDeg,
      plateMm2: restMm2,
      sizeMm: [0, 0, heightMm] as const,
    };
    return extra + poseCost(figures, subject.volumeMm3, recipe, ways.weights);
  };
}
