import { type Random, seededRandom } from '@stonehand/base';
import type { Mesh, Pose, Printer, Recipe, Vec3 } from '@stonehand/model';
import { farthestPoints } from './farthest-points.ts';
import { fitHull } from './fit-hull.ts';
import { hull2 } from './hull2.ts';
import { POSE_WEIGHTS } from './pose-cost.ts';
import { poseOfSubject } from './pose-of.ts';
import { costBySamples } from './pose-search.ts';
import { restFaces } from './rest-faces.ts';
import { rotationFor, turnedAboutZ, unit } from './rotation.ts';
import { fibonacci } from './sphere.ts';
import { type Subject, subjectOf } from './subject.ts';

export type LeaningOptions = Readonly<{ rounds?: number; seed?: number }>;

const STARTS = 6;
const STEPS = 60;
/** Great circles square to the largest faces, and directions tried on each. */
const CIRCLES = 3;
const ON_CIRCLE = 180;

/**
 * A way up in which a part goes into a build volume that none of its ordinary ways fits: leaning, as a long rod goes in
 * along the diagonal. Directions all over the sphere are tried, and those that keep one of the largest faces upright (a plank
 * tips so); the nearest to fitting are climbed by small steps. Of those that fit, the one that costs least by a rough measure is returned, turned about z as it fits. A search, not a proof: it
 * may miss a part that just goes in.
 * @param printer usable area, kept-out areas and height count; the recipe's brim is taken off
 */
export function leaningPose(
  mesh: Mesh,
  printer: Pick<Printer, 'usable' | 'keepOut' | 'heightMm'>,
  recipe: Recipe,
  { rounds = 300, seed = 1 }: LeaningOptions = {},
): Pose | undefined {
  const subject = subjectOf(mesh);
  const cloud = farthestPoints(subject.points, 500);
  const random = seededRandom(seed);
  const attempt = (down: Vec3): Try => tryAt(cloud, down, printer, recipe);
  const tries = Array.from({ length: rounds }, (_, i) => attempt(fibonacci(i, rounds)));
  tries.sort((a, b) => b.scale - a.scale);
  for (const start of tries.slice(0, STARTS)) tries.push(climb(start, attempt, random));
  for (const normal of uprightNormals(subject)) tries.push(...onCircle(normal, attempt));
  const fitting = tries.filter((t) => t.scale >= 1 && t.fits);
  const roughCost = costBySamples(subject, recipe, { weights: POSE_WEIGHTS, extra: () => 0 }, 3000);
  const cost = new Map(fitting.map((t) => [t, roughCost(t.down)]));
  fitting.sort((a, b) => cost.get(a)! - cost.get(b)!);
  for (const { down } of fitting) {
    // The thinned cloud is inside the hull: only the whole hull decides.
    const whole = tryAt(subject.points, down, printer, recipe);
    if (whole.scale < 1 || !whole.fits) continue;
    return poseOfSubject(subject, turnedAboutZ(rotationFor(down), whole.turnRad), recipe, { mostCells: 512 });
  }
  return undefined;
}

type Try = Readonly<{ down: Vec3; scale: number; fits: boolean; turnRad: number }>;

function climb(start: Try, attempt: (down: Vec3) => Try, random: Random): Try {
  let best = start;
  for (let i = 0, step = 0.1; i < STEPS; i++, step *= 0.93) {
    const [x, y, z] = best.down;
    const next = attempt(unit([x + step * random.normal(), y + step * random.normal(), z + step * random.normal()]));
    if (next.scale > best.scale) best = next;
  }
  return best;
}

/** Directions square to `normal`, and the best of them moved along the circle by ever smaller steps. */
function onCircle(normal: Vec3, attempt: (down: Vec3) => Try): Try[] {
  // Two of the three rows of a turn that brings the normal to −z are square to it.
  const [ax, ay, az, bx, by, bz] = rotationFor(normal);
  const at = (rad: number): Try => {
    const [c, s] = [Math.cos(rad), Math.sin(rad)];
    return attempt(unit([c * ax + s * bx, c * ay + s * by, c * az + s * bz]));
  };
  const step = (2 * Math.PI) / ON_CIRCLE;
  const tries = Array.from({ length: ON_CIRCLE }, (_, i) => at(i * step));
  let best = 0;
  for (let i = 1; i < ON_CIRCLE; i++) if (tries[i].scale > tries[best].scale) best = i;
  let rad = best * step;
  let top = tries[best];
  for (let d = step / 2; d > 1e-6; d *= 0.6) {
    for (const next of [rad - d, rad + d]) {
      const tried = at(next);
      if (tried.scale <= top.scale) continue;
      top = tried;
      rad = next;
    }
  }
  return [...tries, top];
}

function uprightNormals(subject: Subject): Vec3[] {
  const normals: Vec3[] = [];
  for (const { down: d } of restFaces(subject)) {
    if (normals.length === CIRCLES) break;
    if (normals.every((n) => Math.abs(n[0] * d[0] + n[1] * d[1] + n[2] * d[2]) < Math.cos(Math.PI / 36)))
      normals.push(d);
  }
  return normals;
}

function tryAt(
  points: Float64Array,
  down: Vec3,
  printer: Pick<Printer, 'usable' | 'keepOut' | 'heightMm'>,
  recipe: Recipe,
): Try {
  const r = rotationFor(down);
  const xy = new Float64Array((2 * points.length) / 3);
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0, k = 0; i < points.length; i += 3) {
    const [x, y, z] = [points[i], points[i + 1], points[i + 2]];
    xy[k++] = r[0] * x + r[1] * y + r[2] * z;
    xy[k++] = r[3] * x + r[4] * y + r[5] * z;
    const h = r[6] * x + r[7] * y + r[8] * z;
    if (h < low) low = h;
    if (h > high) high = h;
  }
  const fit = fitHull(hull2(xy), printer.usable, { brimMm: recipe.brimMm, keepOut: printer.keepOut });
  const scale = Math.min(fit.scaleThatFits, printer.heightMm / (high - low));
  return { down, scale, fits: fit.fits, turnRad: (fit.turnDeg * Math.PI) / 180 };
}
