import type { Vec3 } from '@stonehand/model';
import { AXES, extentAlong, gridOf } from './fits.ts';
import { distinct, type Ground, type Part } from './judge.ts';
import { mirrorPlanes } from './mirror-planes.ts';
import { PATCH, type Patches } from './patches.ts';
import { quickPose } from './quick-pose.ts';
import { crossedBy, middleOf, type Region } from './regions.ts';
import { type SectionScan, scanSections } from './section-scan.ts';
import { SPLIT_WEIGHTS } from './weights.ts';

export type Seam = Readonly<{ normal: Vec3; offsetMm: number; costMm3: number; lineMm: number; crossed: number }>;
export type SeamRules = Readonly<{ regions: readonly Region[]; showSide?: Vec3 }>;
/** symmetric: in a plane of symmetry of the piece, and so worth a trial whatever it promises */
export type Candidate = Seam & Readonly<{ promiseMm3: number; symmetric: boolean }>;

const OFFSETS = 48;
const BUCKETS = 6;
/** Of all seams found, so many of the cheapest are weighed with what lies beside them. */
const LOOKED_AT = 120;
const MARGIN_SHARE = 0.05;
/** the section is looked at again so far to either side: a face or rib nearly in the plane shows as a jump of area, and joints need the wall to go on */
const BESIDE_MM = [1, 4];
const JUMP_SHARE = 0.25;

/**
 * Where one piece may be cut, most promising first: for each direction the simplest section of each sixth of the length,
 * even divisions and the planes of symmetry. Promise: the seam, and what both sides would cost as their extents and patches have it.
 */
export function candidateCuts(part: Part, extra: readonly Vec3[], ground: Ground, stated: SeamRules): Candidate[] {
  const { mesh, corners } = part;
  const rules = { ...stated, regions: regionsWithin(part, stated.regions) };
  const mirrors = mirrorPlanes(mesh, corners, middleOfMass(part));
  const found: Seam[] = mirrors.flatMap((plane) => lookClosely(part, plane.normal, plane.offsetMm, rules, true) ?? []);
  const halving = new Set(found);
  for (const normal of distinct(extra)) {
    const [low, high] = span(part, normal);
    const firstMm = low + MARGIN_SHARE * (high - low);
    const stepMm = ((1 - 2 * MARGIN_SHARE) * (high - low)) / (OFFSETS - 1);
    const scan = scanSections(mesh, normal, { firstMm, stepMm, count: OFFSETS }, middleOfMass(part), rules.showSide);
    const seams = Array.from({ length: OFFSETS }, (_, i) => seamOf(normal, scan, i, rules));
    for (let bucket = 0; bucket < BUCKETS; bucket++) {
      const here = seams.slice((bucket * OFFSETS) / BUCKETS, ((bucket + 1) * OFFSETS) / BUCKETS);
      const best = here.reduce<Seam | undefined>(
        (a, b) => (b !== undefined && (a === undefined || b.costMm3 < a.costMm3) ? b : a),
        undefined,
      );
      if (best !== undefined) found.push(best);
    }
    for (const share of [1 / 2, 1 / 3, 2 / 3]) {
      const seam = lookClosely(part, normal, low + share * (high - low), rules, false);
      if (seam !== undefined) found.push(seam);
    }
  }
  return found
    .sort((a, b) => a.costMm3 - b.costMm3)
    .slice(0, LOOKED_AT)
    .map((seam) => ({ ...seam, promiseMm3: seam.costMm3 + sidesMm3(part, seam, ground), symmetric: halving.has(seam) }))
    .map((candidate, i) => ({ candidate, i }))
    .sort((a, b) => a.candidate.promiseMm3 - b.candidate.promiseMm3 || a.i - b.i)
    .map(({ candidate }) => candidate);
}

/** One seam looked at closely: with what lies a millimetre to both sides. undefined where the plane misses or is forbidden. */
export function seamAt(
  part: Pick<Part, 'mesh' | 'corners' | 'centre'>,
  normal: Vec3,
  offsetMm: number,
  rules: SeamRules,
  mirror: boolean,
): Seam | undefined {
  return lookClosely(part, normal, offsetMm, { ...rules, regions: regionsWithin(part, rules.regions) }, mirror);
}

function lookClosely(
  part: Pick<Part, 'mesh' | 'centre'>,
  normal: Vec3,
  offsetMm: number,
  rules: SeamRules,
  mirror: boolean,
): Seam | undefined {
  const steps = Math.max(...BESIDE_MM);
  const near = { firstMm: offsetMm - steps, stepMm: 1, count: 2 * steps + 1 };
  const scan = scanSections(part.mesh, normal, near, middleOfMass(part), rules.showSide);
  const seam = seamOf(normal, scan, steps, rules);
  if (seam === undefined) return undefined;
  const here = scan.areaMm2[steps];
  const jumps = BESIDE_MM.some((mm) =>
    [-mm, mm].some((k) => Math.abs(scan.areaMm2[steps + k] - here) > JUMP_SHARE * here),
  );
  // Symmetry does not pay for a feature cut through.
  const halves = mirror && seam.crossed === 0;
  const factor = (jumps ? SPLIT_WEIGHTS.poorSeam : 1) * (halves ? SPLIT_WEIGHTS.mirrorSeam : 1);
  return { ...seam, costMm3: seam.costMm3 * factor - (halves ? SPLIT_WEIGHTS.mirror : 0) };
}

function seamOf(normal: Vec3, scan: SectionScan, i: number, { regions, showSide }: SeamRules): Seam | undefined {
  const lineMm = scan.lineMm[i];
  const areaMm2 = scan.areaMm2[i];
  const crossed = crossedBy(regions, normal, scan.offsetsMm[i]);
  if (crossed.never > 0) return undefined;
  // Through the empty space between two bodies: nothing to join there.
  if (!(areaMm2 > 0)) return { normal, offsetMm: scan.offsetsMm[i], costMm3: 0, lineMm: 0, crossed: 0 };
  const w = SPLIT_WEIGHTS;
  const seen = scan.seenMm[i];
  const shown = showSide === undefined ? 0 : scan.shownMm[i];
  let costMm3 = w.seenMm * seen + w.hiddenMm * (lineMm - seen) + w.shownMm * shown;
  if (areaMm2 < w.leastAreaMm2) costMm3 *= w.poorSeam;
  costMm3 += w.feature * crossed.others;
  return { normal, offsetMm: scan.offsetsMm[i], costMm3, lineMm, crossed: crossed.others };
}

/** The regions whose middle lies in the piece's box. */
function regionsWithin({ mesh, corners }: Pick<Part, 'mesh' | 'corners'>, regions: readonly Region[]): Region[] {
  if (regions.length === 0) return [];
  const spans = AXES.map((axis) => extentAlong(corners, axis));
  return regions.filter((region) =>
    middleOf(region).every((v, d) => v - mesh.originMm[d] >= spans[d][0] && v - mesh.originMm[d] <= spans[d][1]),
  );
}

/** Extent along a direction, in the part's coordinates. */
function span({ corners, mesh: { originMm: o } }: Part, normal: Vec3): readonly [number, number] {
  const shift = normal[0] * o[0] + normal[1] * o[1] + normal[2] * o[2];
  const [low, high] = extentAlong(corners, normal);
  return [low + shift, high + shift];
}

function middleOfMass({ mesh: { originMm: o }, centre }: Pick<Part, 'mesh' | 'centre'>): Vec3 {
  return [centre[0] + o[0], centre[1] + o[1], centre[2] + o[2]];
}

/** What both sides of a cut would cost, from the middles of the patches on each side. */
function sidesMm3(part: Part, { normal, offsetMm }: Seam, ground: Ground): number {
  const o = part.mesh.originMm;
  const level = offsetMm - (normal[0] * o[0] + normal[1] * o[1] + normal[2] * o[2]);
  let sum = 0;
  for (const side of [-1, 1]) {
    const { patches, points, share } = patchesBeyond(part.patches, normal, level, side);
    if (points.length < 12) return Infinity;
    const grid = gridOf(points, ground.beds, ground.brimMm);
    const body = { centre: meanOf(points), volumeMm3: part.volumeMm3 * share };
    const up: Vec3 = [-side * -normal[0], -side * -normal[1], -side * -normal[2]];
    const costs = [up, ...WAYS].map((way) => quickPose(patches, points, body, way, ground.recipe).costMm3);
    const pieces = grid.share <= 1 ? 1 : Math.max(grid.share < 1.2 ? 1.3 : 2, grid.pieces);
    sum += Math.min(...costs) + SPLIT_WEIGHTS.piece * pieces;
  }
  return sum;
}
const WAYS: readonly Vec3[] = [
  [0, 0, 1],
  [0, 0, -1],
  [1, 0, 0],
  [-1, 0, 0],
  [0, 1, 0],
  [0, -1, 0],
];

/** A sample of the patches on one side, its areas scaled up to the whole. */
function patchesBeyond(
  patches: Patches,
  normal: Vec3,
  level: number,
  side: number,
): { patches: Patches; points: Float64Array; share: number } {
  const stride = PATCH * Math.max(1, Math.ceil(patches.length / PATCH / SAMPLED));
  const scale = stride / PATCH;
  const mine = new Float64Array(PATCH * Math.ceil(patches.length / stride));
  const points = new Float64Array(mine.length / 2);
  let n = 0;
  for (let k = 0; k < patches.length; k += stride) {
    const h = normal[0] * patches[k + 3] + normal[1] * patches[k + 4] + normal[2] * patches[k + 5] - level;
    if (side * h < 0) continue;
    for (let d = 0; d < 3; d++) {
      mine[PATCH * n + d] = scale * patches[k + d];
      mine[PATCH * n + 3 + d] = patches[k + 3 + d];
      points[3 * n + d] = patches[k + 3 + d];
    }
    n++;
  }
  return { patches: mine.subarray(0, PATCH * n), points: points.subarray(0, 3 * n), share: (PATCH * n) / mine.length };
}
const SAMPLED = 1500;

function meanOf(points: Float64Array): Vec3 {
  const sum = [0, 0, 0];
  for (let i = 0; i < points.length; i++) sum[i % 3] += points[i];
  const n = points.length / 3;
  return [sum[0] / n, sum[1] / n, sum[2] / n];
}
