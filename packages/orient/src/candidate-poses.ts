import { type Random, seededRandom } from '@stonehand/base';
import type { Mesh, Pose, Recipe, Vec3 } from '@stonehand/model';
import { type NormalBins, normalBins, roughNeed } from './normal-bins.ts';
import { LIMIT_SLACK } from './overhang-area.ts';
import { POSE_WEIGHTS, poseCost } from './pose-cost.ts';
import { isAsModelled, poseOfSubject } from './pose-of.ts';
import { restFaces } from './rest-faces.ts';
import { AXIS_RAD, rotationFor, turnedAboutZ, unit } from './rotation.ts';
import { leanOf, squareUp, standingOf } from './standing.ts';
import { type Subject, subjectOf } from './subject.ts';

export type PoseRule = 'auto' | 'asModelled' | 'bestOf';
export type PoseSearchOptions = Readonly<{
  /** auto: as modelled stays first unless another is clearly better; bestOf: by cost alone; asModelled: that one only */
  rule?: PoseRule;
  /** directions tried on the sphere, beside the resting faces and the axes */
  rounds?: number;
  seed?: number;
  mostPoses?: number;
}>;

const FACES = 24;
const FINALISTS = 14;
const FINALIST_CELLS = 128;
const LISTED_CELLS = 512;
/** Directions nearer than 2° to a better one are not measured. */
const APART_RAD = Math.PI / 90;

/**
 * Ways up worth considering, best first: every large resting face of the convex hull, the six axes, and directions all
 * over the sphere, refined around the best. All are ranked roughly by their faces' directions, the best measured exactly
 * (supportNeed), equal ones merged, and of the rest those kept that no other beats in support, height, marks and
 * steadiness at once. As modelled is always among them. Each is turned about z so that its box is small.
 * @returns at most mostPoses (8)
 */
export function candidatePoses(
  mesh: Mesh,
  recipe: Recipe,
  { rule = 'auto', rounds = 600, seed = 1, mostPoses = 8 }: PoseSearchOptions = {},
): Pose[] {
  const subject = subjectOf(mesh);
  const measured = (rotation: readonly number[], mostCells: number): Pose =>
    poseOfSubject(subject, rotation, recipe, { mostCells });
  const upright = rotationFor([0, 0, -1]);
  if (rule === 'asModelled') return [measured(upright, LISTED_CELLS)];
  const poses = [measured(upright, FINALIST_CELLS)];
  for (const down of roughlyBest(subject, recipe, rounds, seededRandom(seed))) {
    const rotation = squaredUp(subject, rotationFor(down), recipe);
    if (isAsModelled(rotation)) continue;
    const pose = measured(rotation, FINALIST_CELLS);
    if (!poses.some((p) => alike(p, pose))) poses.push(pose);
  }
  const listed = shortList(byCost(poses, subject, recipe), mostPoses).map((p) => measured(p.rotation, LISTED_CELLS));
  const ranked = byCost(listed, subject, recipe);
  const modelled = ranked.find((p) => isAsModelled(p.rotation))!;
  const cost = (p: Pose): number => poseCost(p, subject.volumeMm3, recipe);
  const stays = rule === 'auto' && cost(modelled) <= (1 + POSE_WEIGHTS.asModelledShare) * cost(ranked[0]);
  return stays ? [modelled, ...ranked.filter((p) => p !== modelled)] : ranked;
}

function byCost(poses: readonly Pose[], subject: Subject, recipe: Recipe): Pose[] {
  const cost = new Map(poses.map((p) => [p, poseCost(p, subject.volumeMm3, recipe)]));
  return [...poses].sort((a, b) => cost.get(a)! - cost.get(b)! || (a.id < b.id ? -1 : 1));
}

/** Without poses that a cheaper one nearly matches in every respect; as modelled and the least in length stay. */
function shortList(ranked: readonly Pose[], most: number): Pose[] {
  const long = (p: Pose): number => Math.max(p.sizeMm[0], p.sizeMm[1]);
  const modelled = ranked.find((p) => isAsModelled(p.rotation))!;
  const shortest = ranked.reduce((a, b) => (long(b) < 0.999 * long(a) ? b : a));
  const kept: Pose[] = [];
  for (const pose of ranked) {
    if (pose === modelled || pose === shortest || !kept.some((q) => covers(q, pose))) kept.push(pose);
  }
  const must = [modelled, shortest];
  const spare = most - new Set(must).size;
  const others = new Set(kept.filter((p) => !must.includes(p)).slice(0, Math.max(0, spare)));
  return kept.filter((p) => must.includes(p) || others.has(p));
}

/** Directions of "down" to measure exactly: the axes, and the roughly best of faces and sphere, no two within 2°. */
function roughlyBest(subject: Subject, recipe: Recipe, rounds: number, random: Random): Vec3[] {
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

function roughCost(subject: Subject, bins: NormalBins, recipe: Recipe, down: Vec3, restMm2: number): number {
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
function fibonacci(i: number, n: number): Vec3 {
  const z = 1 - (2 * (i + 0.5)) / n;
  const r = Math.sqrt(1 - z * z);
  const rad = i * Math.PI * (3 - Math.sqrt(5));
  return [r * Math.cos(rad), r * Math.sin(rad), z];
}

/** Turned about z where that makes the box smaller by more than 1 %, or its longer side lie along x. */
function squaredUp(subject: Subject, rotation: number[], recipe: Recipe): number[] {
  if (isAsModelled(rotation)) return rotation;
  const { shadow, sizeMm } = standingOf(subject.points, subject.centre, rotation, recipe.firstLayerMm / 2);
  const best = squareUp(shadow);
  if (best.areaMm2 < 0.99 * sizeMm[0] * sizeMm[1]) return turnedAboutZ(rotation, best.turnRad);
  return sizeMm[1] > sizeMm[0] * (1 + 1e-9) ? turnedAboutZ(rotation, Math.PI / 2) : rotation;
}

const near = (a: number, b: number, scale: number): boolean => Math.abs(a - b) <= 1e-3 * scale;

/** Two poses that print the same: a cube on any of its faces. */
function alike(a: Pose, b: Pose): boolean {
  const size = Math.max(...a.sizeMm);
  const [a0, a1] = [a.sizeMm[0], a.sizeMm[1]].sort((x, y) => x - y);
  const [b0, b1] = [b.sizeMm[0], b.sizeMm[1]].sort((x, y) => x - y);
  const same = near(a.heightMm, b.heightMm, size) && near(a0, b0, size) && near(a1, b1, size);
  // Sampled figures are known to about 1 %.
  const figure = (x: number, y: number): boolean => Math.abs(x - y) <= 0.015 * Math.max(x, y) + 1e-6;
  return (
    same &&
    figure(a.supportMm3, b.supportMm3) &&
    figure(a.scarMm2, b.scarMm2) &&
    figure(a.overhangMm2, b.overhangMm2) &&
    Math.abs(a.tipDeg - b.tipDeg) < 0.5
  );
}

/** About as good or better in everything a person may choose by: then showing both is no choice. */
function covers(a: Pose, b: Pose): boolean {
  const steady = (p: Pose): number => Math.min(p.tipDeg, POSE_WEIGHTS.steadyDeg);
  const noMore = (x: number, y: number, slack: number): boolean => x <= 1.1 * y + slack;
  return (
    noMore(a.supportMm3, b.supportMm3, 20) &&
    noMore(a.scarMm2, b.scarMm2, 5) &&
    noMore(a.heightMm, b.heightMm, 1) &&
    noMore(Math.max(a.sizeMm[0], a.sizeMm[1]), Math.max(b.sizeMm[0], b.sizeMm[1]), 1) &&
    steady(a) >= steady(b) - 3
  );
}
