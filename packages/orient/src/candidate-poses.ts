import { seededRandom } from '@stonehand/base';
import type { Box, Mesh, Pose, Recipe, Vec3 } from '@stonehand/model';
import { airIslands } from './air-islands.ts';
import { POSE_WEIGHTS, type PoseWeights, poseCost } from './pose-cost.ts';
import { isAsModelled, poseOfSubject } from './pose-of.ts';
import { roughlyBest } from './pose-search.ts';
import { poseWhy } from './pose-why.ts';
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
  /** the only ways up allowed, each by what points at the plate, unit vectors in mesh coordinates */
  downs?: readonly Vec3[];
  /** pulled along this, a unit vector in mesh coordinates: layers must not lie square to it */
  load?: Vec3;
  /** a side to keep free of marks, unit vector out of it; without it what is seen from outside */
  showSide?: Vec3;
  /** support is allowed in these places only, mesh coordinates */
  supportIn?: readonly Box[];
}>;

/** Cells across the shadow: to choose by, within about 1 %, and for the figures of the poses that are listed. */
const FINALIST_CELLS = 128;
const LISTED_CELLS = 512;
/** How many directions are measured exactly: fewer of a large mesh. */
const finalistsFor = (triangles: number): number => (triangles < 20_000 ? 10 : triangles < 200_000 ? 8 : 5);

/**
 * Ways up worth considering, best first: every large resting face of the convex hull, the six axes, and directions all
 * over the sphere, refined around the best. All are ranked by samples of the surface (pose-search.ts), the best measured exactly
 * (supportNeed), equal ones merged, and of the rest those kept that no other beats in support, height, marks and
 * steadiness at once. As modelled is always among them, unless only other ways are allowed. Each is turned about z so that its
 * box is small, and says in words what it is best at.
 * @returns at most mostPoses (8)
 */
export function candidatePoses(
  mesh: Mesh,
  recipe: Recipe,
  {
    rule = 'auto',
    weights = POSE_WEIGHTS,
    rounds = 600,
    seed = 1,
    mostPoses = 8,
    downs,
    load,
    showSide,
    supportIn,
  }: PoseSearchOptions = {},
): Pose[] {
  const subject = subjectOf(mesh, showSide);
  const upright = rotationFor([0, 0, -1]);
  const measured = (rotation: readonly number[], mostCells: number): Pose =>
    poseOfSubject(subject, rotation, recipe, { mostCells, ...(supportIn && { supportIn }) });
  const finished = (poses: readonly Pose[]): Pose[] => {
    const whole = poses.map((p) => ({ ...p, islands: airIslands(mesh, p.rotation, recipe.firstLayerMm / 2) }));
    return whole.map((p) => {
      const why = poseWhy(p, whole);
      const beaten = whole.find((q) => q !== p && beats(q, p));
      return { ...p, ...(why !== '' && { why }), ...(beaten && { beatenBy: beaten.id }) };
    });
  };
  if (rule === 'asModelled') return finished([measured(upright, LISTED_CELLS)]);
  const extra = (down: Vec3): number => layersPulled(down, load) * weights.loadShare * subject.volumeMm3;
  const cost = (pose: Pose): number =>
    poseCost(pose, subject.volumeMm3, recipe, weights) +
    extra([-pose.rotation[6], -pose.rotation[7], -pose.rotation[8]]);
  const poses = downs === undefined ? [measured(upright, FINALIST_CELLS)] : [];
  const { cheapest, narrower } = roughlyBest(subject, recipe, {
    weights,
    rounds,
    random: seededRandom(seed),
    extra,
    ...(downs && { only: downs }),
    finalists: finalistsFor(mesh.triangles.length / 3),
  });
  const narrow = new Set<Pose>();
  for (const down of [...cheapest, ...narrower]) {
    const rotation = squaredUp(subject, rotationFor(down), recipe);
    if (downs === undefined && isAsModelled(rotation)) continue;
    const pose = measured(rotation, FINALIST_CELLS);
    if (poses.some((p) => alike(p, pose))) continue;
    poses.push(pose);
    if (narrower.includes(down)) narrow.add(pose);
  }
  const listed = shortList(byCost(poses, cost), narrow, mostPoses).map((p) => measured(p.rotation, LISTED_CELLS));
  const ranked = byCost(listed, cost);
  const modelled = ranked.find((p) => isAsModelled(p.rotation));
  const stays =
    rule === 'auto' && modelled !== undefined && cost(modelled) <= (1 + weights.asModelledShare) * cost(ranked[0]);
  return finished(stays ? [modelled, ...ranked.filter((p) => p !== modelled)] : ranked);
}

/** 0 where layers lie along the pull or up to 30° off it, rising to 1 where they lie square to it and part first. */
function layersPulled(down: Vec3, load: Vec3 | undefined): number {
  if (load === undefined) return 0;
  const across = Math.abs(down[0] * load[0] + down[1] * load[1] + down[2] * load[2]);
  return Math.max(0, 2 * across - 1);
}

function byCost(poses: readonly Pose[], cost: (pose: Pose) => number): Pose[] {
  const costs = new Map(poses.map((p) => [p, cost(p)]));
  return [...poses].sort((a, b) => costs.get(a)! - costs.get(b)! || (a.id < b.id ? -1 : 1));
}

/** Without poses that a cheaper one nearly matches in every respect; as modelled, the least in length and the narrow ones stay. */
function shortList(ranked: readonly Pose[], narrow: ReadonlySet<Pose>, most: number): Pose[] {
  const modelled = ranked.find((p) => isAsModelled(p.rotation));
  const shortest = ranked.reduce((a, b) => (longSide(b) < 0.999 * longSide(a) ? b : a));
  const must = new Set([shortest, ...(modelled === undefined ? [] : [modelled])]);
  const kept: Pose[] = [];
  for (const pose of ranked) if (must.has(pose) || !kept.some((q) => covers(q, pose))) kept.push(pose);
  for (const pose of kept) if (narrow.has(pose)) must.add(pose);
  const others = new Set(kept.filter((p) => !must.has(p)).slice(0, Math.max(0, most - must.size)));
  return kept.filter((p) => must.has(p) || others.has(p));
}

const near = (a: number, b: number, scale: number): boolean => Math.abs(a - b) <= 1e-3 * scale;
const longSide = (p: Pose): number => Math.max(p.sizeMm[0], p.sizeMm[1]);
const steady = (p: Pose): number => Math.min(p.tipDeg, POSE_WEIGHTS.steadyDeg);

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
  const noMore = (x: number, y: number, slack: number): boolean => x <= 1.1 * y + slack;
  return (
    noMore(a.supportMm3, b.supportMm3, 20) &&
    noMore(a.scarMm2, b.scarMm2, 5) &&
    noMore(a.heightMm, b.heightMm, 1) &&
    noMore(longSide(a), longSide(b), 1) &&
    steady(a) >= steady(b) - 3
  );
}

/** No worse in anything and clearly better in something. */
function beats(a: Pose, b: Pose): boolean {
  const measures = [
    [a.supportMm3, b.supportMm3, 20],
    [a.scarMm2, b.scarMm2, 5],
    [a.heightMm, b.heightMm, 0.5],
    [longSide(a), longSide(b), 0.5],
    [-steady(a), -steady(b), 0.5],
  ] as const;
  return (
    measures.every(([x, y, slack]) => x <= y + slack + 0.01 * Math.abs(y)) &&
    measures.some(([x, y, slack]) => x < y - slack - 0.01 * Math.abs(y))
  );
}
