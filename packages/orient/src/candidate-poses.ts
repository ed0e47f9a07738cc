import { seededRandom } from '@stonehand/base';
import type { Mesh, Pose, Recipe } from '@stonehand/model';
import { POSE_WEIGHTS, type PoseWeights, poseCost } from './pose-cost.ts';
import { isAsModelled, poseOfSubject } from './pose-of.ts';
import { roughlyBest } from './pose-search.ts';
import { rotationFor } from './rotation.ts';
import { squaredUp } from './squared-up.ts';
import { subjectOf } from './subject.ts';

export type PoseRule = 'auto' | 'asModelled' | 'bestOf';
export type PoseSearchOptions = Readonly<{
  /** auto: as modelled stays first unless another is clearly better; bestOf: by cost alone; asModelled: that one only */
  rule?: PoseRule;
  /** what counts; SUPPORT_ONLY for support alone */
  weights?: PoseWeights;
  /** directions tried on the sphere, beside the resting faces and the axes */
  rounds?: number;
  seed?: number;
  mostPoses?: number;
}>;

/** Cells across the shadow: to choose by, within about 1 %, and for the figures of the poses that are listed. */
const FINALIST_CELLS = 128;
const LISTED_CELLS = 512;
/** How many directions are measured exactly: fewer of a large mesh. */
const finalistsFor = (triangles: number): number => (triangles < 20_000 ? 12 : triangles < 200_000 ? 8 : 5);

/**
 * Ways up worth considering, best first: every large resting face of the convex hull, the six axes, and directions all
 * over the sphere, refined around the best. All are ranked by samples of the surface (pose-search.ts), the best measured exactly
 * (supportNeed), equal ones merged, and of the rest those kept that no other beats in support, height, marks and
 * steadiness at once. As modelled is always among them. Each is turned about z so that its box is small.
 * @returns at most mostPoses (8)
 */
export function candidatePoses(
  mesh: Mesh,
  recipe: Recipe,
  { rule = 'auto', weights = POSE_WEIGHTS, rounds = 800, seed = 1, mostPoses = 8 }: PoseSearchOptions = {},
): Pose[] {
  const subject = subjectOf(mesh);
  const upright = rotationFor([0, 0, -1]);
  const measured = (rotation: readonly number[], mostCells: number): Pose =>
    poseOfSubject(subject, rotation, recipe, { mostCells });
  if (rule === 'asModelled') return [measured(upright, LISTED_CELLS)];
  const cost = (pose: Pose): number => poseCost(pose, subject.volumeMm3, recipe, weights);
  const poses = [measured(upright, FINALIST_CELLS)];
  const downs = roughlyBest(subject, recipe, {
    weights,
    rounds,
    random: seededRandom(seed),
    extra: () => 0,
    finalists: finalistsFor(mesh.triangles.length / 3),
  });
  for (const down of downs) {
    const rotation = squaredUp(subject, rotationFor(down), recipe);
    if (isAsModelled(rotation)) continue;
    const pose = measured(rotation, FINALIST_CELLS);
    if (!poses.some((p) => alike(p, pose))) poses.push(pose);
  }
  const listed = shortList(byCost(poses, cost), mostPoses).map((p) => measured(p.rotation, LISTED_CELLS));
  const ranked = byCost(listed, cost);
  const modelled = ranked.find((p) => isAsModelled(p.rotation))!;
  const stays = rule === 'auto' && cost(modelled) <= (1 + weights.asModelledShare) * cost(ranked[0]);
  return stays ? [modelled, ...ranked.filter((p) => p !== modelled)] : ranked;
}

function byCost(poses: readonly Pose[], cost: (pose: Pose) => number): Pose[] {
  const costs = new Map(poses.map((p) => [p, cost(p)]));
  return [...poses].sort((a, b) => costs.get(a)! - costs.get(b)! || (a.id < b.id ? -1 : 1));
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
