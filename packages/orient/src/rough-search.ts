import type { Random } from '@stonehand/base';
import type { Recipe, Vec3 } from '@stonehand/model';
import { type NormalBins, normalBins, roughNeed } from './normal-bins.ts';
import { LIMIT_SLACK } from './overhang-area.ts';
import { POSE_WEIGHTS } from './pose-cost.ts';
import { isAsModelled } from './pose-of.ts';
import { restFaces } from './rest-faces.ts';
import { AXIS_RAD, turnedAboutZ, unit } from './rotation.ts';
import { leanOf, squareUp, standingOf } from './standing.ts';
import type { Subject } from './subject.ts';

const FACES = 24;
const FINALISTS = 14;
/** Directions nearer than 2° to a better one are not measured. */
const APART_RAD = Math.PI / 90;

/** Directions of "down" to measure exactly: the axes, and the roughly best of faces and sphere, no two within 2°. */
export function roughlyBest(subject: Subject, recipe: Recipe, rounds: number, random: Random): Vec3[] {
  const bins = normalBins(subject.mesh);
  const score = (down: Vec3, restMm2: number): number => roughCost(subject, bins, recipe, down, restMm2);
  const tried: { down: Vec3; cost: number }[] = [];
  const attempt = (down: Vec3, restMm2: number): void => {
    tried.push({ down, cost: score(down, restMm2) });
  };
  for (const face of restFaces(subject).slice(0, FACES)) attempt(face.down, face.areaMm2);
  for (let i = 0; i < rounds; i++) attempt(fibonacci(i, rounds), 0);
  tried.sort((a, b) => a.cost - b.cost);
  // From the best on, ever smaller steps aside; what is better becomes the new best.
  for (const start of tried.slice(0, 3)) {
    let best = start;
    for (let i = 0, step = 0.1; i < rounds / 6; i++, step *= 0.95) {
      const [x, y, z] = best.down;
      const down = unit([x + step * random.normal(), y + step * random.normal(), z + step * random.normal()]);
      const cost = score(down, 0);
      if (cost < best.cost) best = { down, cost };
    }
    if (best !== start) tried.push(best);
  }
  tried.sort((a, b) => a.cost - b.cost);
  const chosen: Vec3[] = [];
  const within = (a: Vec3, b: Vec3, rad: number): boolean => a[0] * b[0] + a[1] * b[1] + a[2] * b[2] >= Math.cos(rad);
  for (const { down } of tried) {
    if (chosen.length >= FINALISTS) break;
    if (!chosen.some((c) => within(c, down, APART_RAD))) chosen.push(down);
  }
  for (const axis of AXES) if (!chosen.some((c) => within(c, axis, AXIS_RAD))) chosen.push(axis);
  return chosen;
}

const AXES: readonly Vec3[] = [
  [0, 0, -1],
  [0, 0, 1],
  [-1, 0, 0],
  [1, 0, 0],
  [0, -1, 0],
  [0, 1, 0],
];

/** poseCost from the faces' directions alone: parts below are not seen, bridges neither. restMm2: the face it rests on. */
export function roughCost(subject: Subject, bins: NormalBins, recipe: Recipe, down: Vec3, restMm2: number): number {
  const standing = leanOf(subject.points, subject.centre, down, recipe.firstLayerMm / 2);
  const limit = Math.sin((recipe.overhangFromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const need = roughNeed(bins, down, standing.lowestMm, limit);
  const w = POSE_WEIGHTS;
  return (
    recipe.supportShare * need.volumeMm3 +
    w.scarMm * Math.max(0, need.shadowMm2 - restMm2) +
    w.heightMm2 * standing.heightMm +
    w.tippingShare * subject.volumeMm3 * Math.max(0, 1 - standing.tipDeg / w.steadyDeg)
  );
}

/** Point i of n spread evenly over the sphere along a spiral of golden angles (from memory). */
export function fibonacci(i: number, n: number): Vec3 {
  const z = 1 - (2 * (i + 0.5)) / n;
  const r = Math.sqrt(1 - z * z);
  const rad = i * Math.PI * (3 - Math.sqrt(5));
  return [r * Math.cos(rad), r * Math.sin(rad), z];
}

/** Turned about z where that makes the box smaller by more than 1 %, or its longer side lie along x. */
export function squaredUp(subject: Subject, rotation: number[], recipe: Recipe): number[] {
  if (isAsModelled(rotation)) return rotation;
  const { shadow, sizeMm } = standingOf(subject.points, subject.centre, rotation, recipe.firstLayerMm / 2);
  const best = squareUp(shadow);
  if (best.areaMm2 < 0.99 * sizeMm[0] * sizeMm[1]) return turnedAboutZ(rotation, best.turnRad);
  return sizeMm[1] > sizeMm[0] * (1 + 1e-9) ? turnedAboutZ(rotation, Math.PI / 2) : rotation;
}
