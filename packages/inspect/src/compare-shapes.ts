import { type Affine, composeAffine, IDENTITY_AFFINE, StonehandError, seededRandom } from '@stonehand/base';
import { massProperties, topology } from '@stonehand/mesh';
import type { Mesh, Placement, Vec3 } from '@stonehand/model';
import { allWithin, axisTurns, cornerTurns, meanAway, refine } from './align-surfaces.ts';
import { type SurfaceDistance, surfaceDistance } from './surface-distance.ts';
import { type SurfaceMoments, surfaceMoments } from './surface-moments.ts';
import { surfaceSamples } from './surface-samples.ts';
import { buildTree, type TriangleTree } from './triangle-tree.ts';

export type ShapeComparison = Readonly<{
  /** the same surface within toleranceMm after a rigid motion, scale and, when mirrored, a mirror; whatever the order of triangles */
  same: boolean;
  /** only as mirror images are they this alike; a shape that is its own mirror image is not mirrored */
  mirrored: boolean;
  /** b is a enlarged by this: 1, or a ratio of units when unitRatio is set, or any number when the same shape was rescaled */
  scale: number;
  /** the confusion of units that explains the scale: `numbers of a in inch read as mm` */
  unitRatio?: string;
  /** where a was not moved: both stand at the same place in their files */
  inPlace: boolean;
  /** b's coordinates = aToB · a's coordinates, scale and mirror included */
  aToB: Placement;
  /** of a (after scale) and of b; absent where a volume is not defined */
  volumeMm3?: readonly [number, number];
  areaMm2: readonly [number, number];
  sizeMm: readonly [Vec3, Vec3];
  distance: SurfaceDistance;
  toleranceMm: number;
}>;

export type CompareOptions = Readonly<{
  /** sameness is within this share of the larger diagonal; covers single precision and six printed digits */
  toleranceShare?: number;
  samples?: number;
  seed?: number;
}>;

// The commoner confusion first: 1000 is metres read as mm before it is mm read as microns.
const UNITS: readonly (readonly [string, number])[] = [
  ['mm', 1],
  ['inch', 25.4],
  ['cm', 10],
  ['m', 1000],
  ['foot', 304.8],
  ['micron', 0.001],
];

/**
 * Whether two meshes are the same shape, whatever the order of their triangles, the unit, the place and the turn, or mirror images,
 * and how far apart they are where not. Invariants first (area, volume, second moments), then motions that could fit (in place, by
 * matching corners, by main axes, swept about an axis of symmetry), each verified by distances; for changed shapes the best of
 * them is refined. Distances are sampled: see SurfaceDistance.blindMm for what they can miss.
 * @throws StonehandError MESH_EMPTY
 */
export function compareShapes(
  a: Mesh,
  b: Mesh,
  { toleranceShare = 2e-5, samples = 2000, seed = 1 }: CompareOptions = {},
): ShapeComparison {
  for (const mesh of [a, b]) {
    if (mesh.triangles.length === 0)
      throw new StonehandError(
        'MESH_EMPTY',
        'a mesh to compare has no triangle',
        'Compare two meshes that hold at least one triangle.',
      );
  }
  const ma = surfaceMoments(a);
  const mb = surfaceMoments(b);
  const sizeA = sizeOf(a);
  const sizeB = sizeOf(b);
  const toleranceMm = toleranceShare * Math.max(Math.hypot(...sizeB), 1e-9);
  const volumes = volumesOf(a, b);
  const found = scaleOf(ma, mb, volumes);
  const from = centred(a, ma.centre, found.scale);
  const to = centred(b, mb.centre, 1);
  const job: Job = {
    from,
    to,
    ma: scaled(ma, found.scale),
    mb,
    treeB: buildTree(to),
    toleranceMm,
    inPlace: inPlaceMove(a, b, ma, mb, found.scale),
    samples,
    seed,
  };
  const match = bestMatch(job, found.alike);
  const mirrorFirst: Affine = match.mirrored ? [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0] : IDENTITY_AFFINE;
  const s = found.scale;
  const ca = add(ma.centre, a.originMm);
  const cb = add(mb.centre, b.originMm);
  const toCentre: Affine = [s, 0, 0, -s * ca[0], 0, s, 0, -s * ca[1], 0, 0, s, -s * ca[2]];
  const back: Affine = [1, 0, 0, cb[0], 0, 1, 0, cb[1], 0, 0, 1, cb[2]];
  return {
    same: match.same,
    mirrored: match.mirrored,
    scale: s,
    ...(found.unitRatio === undefined ? {} : { unitRatio: found.unitRatio }),
    inPlace: match.move === job.inPlace && !match.mirrored,
    aToB: composeAffine(back, composeAffine(match.move, composeAffine(mirrorFirst, toCentre))),
    ...(volumes === undefined ? {} : { volumeMm3: [volumes[0] * s ** 3, volumes[1]] as const }),
    areaMm2: [ma.areaMm2 * s * s, mb.areaMm2],
    sizeMm: [[sizeA[0] * s, sizeA[1] * s, sizeA[2] * s], sizeB],
    distance: match.distance,
    toleranceMm,
  };
}

type Job = Readonly<{
  from: Mesh;
  to: Mesh;
  ma: SurfaceMoments;
  mb: SurfaceMoments;
  treeB: TriangleTree;
  toleranceMm: number;
  inPlace: Affine;
  samples: number;
  seed: number;
}>;
type Match = Readonly<{ same: boolean; mirrored: boolean; move: Affine; distance: SurfaceDistance }>;

/** Exact sameness where the invariants allow it, proper before mirrored; else the nearest fit. */
function bestMatch(job: Job, alike: boolean): Match {
  const mirror: Job = { ...job, from: mirrored(job.from), ma: surfaceMoments(mirrored(job.from)) };
  if (alike) {
    const proper = exactMatch(job);
    if (proper !== undefined) return { ...proper, same: true, mirrored: false };
    const other = exactMatch(mirror);
    if (other !== undefined) return { ...other, same: true, mirrored: true };
  }
  const near = nearestMatch(job);
  const far = nearestMatch(mirror);
  // A mirror image must fit clearly better before it is called one: half the mean distance.
  const useMirror = far.distance.meanMm < 0.5 * near.distance.meanMm;
  const best = useMirror ? far : near;
  return { ...best, same: best.distance.maxMm <= job.toleranceMm, mirrored: useMirror };
}

const QUICK = 96;
const MOST_CORNER_TURNS = 2000;

function exactMatch(job: Job): Pick<Match, 'move' | 'distance'> | undefined {
  const { from, to, treeB, toleranceMm } = job;
  const few = surfaceSamples(from, QUICK, seededRandom(job.seed));
  const fits = (move: Affine): Pick<Match, 'move' | 'distance'> | undefined => {
    if (!allWithin(few, move, treeB, toleranceMm)) return undefined;
    const distance = surfaceDistance(moved(from, move), to, { samples: job.samples, seed: job.seed, treeB });
    return distance.maxMm <= toleranceMm ? { move, distance } : undefined;
  };
  for (const move of [job.inPlace, IDENTITY_AFFINE]) {
    const hit = fits(move);
    if (hit !== undefined) return hit;
  }
  for (const move of [...cornerTurns(from, to, toleranceMm, MOST_CORNER_TURNS), ...axisTurns(job.ma, job.mb)]) {
    const hit = fits(move);
    if (hit !== undefined) return hit;
  }
  return undefined;
}

function nearestMatch(job: Job): Pick<Match, 'move' | 'distance'> {
  const { from, to, treeB } = job;
  const random = seededRandom(job.seed);
  const few = surfaceSamples(from, 120, random);
  const many = surfaceSamples(from, 400, random);
  const ranked = [job.inPlace, IDENTITY_AFFINE, ...axisTurns(job.ma, job.mb)]
    .map((move, at) => ({ move, at, away: meanAway(few, move, treeB) }))
    .sort((x, y) => x.away - y.away || x.at - y.at);
  // Compared by mean both ways without corners, which cost most; the one chosen is measured in full.
  const rough = (move: Affine): number =>
    surfaceDistance(moved(from, move), to, { samples: 250, seed: job.seed, treeB, corners: false }).meanMm;
  const unmoved = rough(job.inPlace);
  let best = job.inPlace;
  // A revision mostly stands where it stood: a refinement that gains little must not move it.
  let least = 0.8 * unmoved;
  for (const { move } of ranked.slice(0, 4)) {
    const better = refine(many, move, treeB, 40);
    const away = rough(better);
    if (away >= least) continue;
    least = away;
    best = better;
  }
  return {
    move: best,
    distance: surfaceDistance(moved(from, best), to, { samples: job.samples, seed: job.seed, treeB }),
  };
}

/** The scale at which the shapes may be the same, or else the ratio of units that is nearest, 1 mostly. */
function scaleOf(
  a: SurfaceMoments,
  b: SurfaceMoments,
  volumes: readonly [number, number] | undefined,
): { scale: number; alike: boolean; unitRatio?: string } {
  const byArea = Math.sqrt(b.areaMm2 / a.areaMm2);
  const byVolume = volumes === undefined || volumes[0] * volumes[1] <= 0 ? byArea : Math.cbrt(volumes[1] / volumes[0]);
  const close = (x: number, y: number, share: number): boolean => Math.abs(x - y) <= share * Math.abs(y);
  const alike =
    close(byArea, byVolume, 1e-4) &&
    a.spread.every(
      (v, i) => Math.abs(v * byArea * byArea - b.spread[i]) <= 3e-4 * Math.max(b.spread[2], Number.MIN_VALUE),
    );
  // The same shape must hit a unit's ratio to rounding; a changed one may be off by a tenth.
  const unit = nearestUnitRatio(byArea, alike ? 2e-5 : 0.1);
  if (unit !== undefined) return { scale: unit.ratio, alike, ...(unit.ratio === 1 ? {} : { unitRatio: unit.says }) };
  return { scale: alike ? byArea : 1, alike };
}

function nearestUnitRatio(ratio: number, share: number): { ratio: number; says: string } | undefined {
  let best: { ratio: number; says: string } | undefined;
  for (const [nameA, mmA] of UNITS) {
    for (const [nameB, mmB] of UNITS) {
      const r = mmB / mmA;
      if (nameA !== 'mm' && nameB !== 'mm' && r !== 1) continue;
      if (Math.abs(ratio / r - 1) > share) continue;
      if (best === undefined || Math.abs(ratio / r - 1) < Math.abs(ratio / best.ratio - 1) - 1e-9)
        best = { ratio: r, says: `numbers of a in ${nameB} read as ${nameA}` };
    }
  }
  return best;
}

function volumesOf(a: Mesh, b: Mesh): readonly [number, number] | undefined {
  return topology(a).volumeDefined && topology(b).volumeDefined
    ? [massProperties(a).volumeMm3, massProperties(b).volumeMm3]
    : undefined;
}

function centred({ positions, triangles }: Mesh, centre: Vec3, scale: number): Mesh {
  const out = new Float64Array(positions.length);
  for (let i = 0; i < out.length; i++) out[i] = scale * (positions[i] - centre[i % 3]);
  return { positions: out, triangles, originMm: [0, 0, 0] };
}

function mirrored({ positions, triangles }: Mesh): Mesh {
  const out = Float64Array.from(positions);
  for (let i = 0; i < out.length; i += 3) out[i] = -out[i];
  const turned = triangles.slice();
  for (let k = 0; k < turned.length; k += 3) {
    turned[k + 1] = triangles[k + 2];
    turned[k + 2] = triangles[k + 1];
  }
  return { positions: out, triangles: turned, originMm: [0, 0, 0] };
}

function moved(mesh: Mesh, m: Affine): Mesh {
  if (m === IDENTITY_AFFINE) return mesh;
  const p = mesh.positions;
  const out = new Float64Array(p.length);
  for (let i = 0; i < out.length; i += 3) {
    for (let k = 0; k < 3; k++)
      out[i + k] = m[4 * k] * p[i] + m[4 * k + 1] * p[i + 1] + m[4 * k + 2] * p[i + 2] + m[4 * k + 3];
  }
  return { ...mesh, positions: out };
}

/** The motion between the centred meshes that leaves both where their files have them. */
function inPlaceMove(a: Mesh, b: Mesh, ma: SurfaceMoments, mb: SurfaceMoments, scale: number): Affine {
  const ca = add(ma.centre, a.originMm);
  const cb = add(mb.centre, b.originMm);
  return [1, 0, 0, scale * ca[0] - cb[0], 0, 1, 0, scale * ca[1] - cb[1], 0, 0, 1, scale * ca[2] - cb[2]];
}

function scaled(m: SurfaceMoments, s: number): SurfaceMoments {
  return { ...m, areaMm2: m.areaMm2 * s * s, spread: m.spread.map((v) => v * s * s) };
}

function add(a: Vec3, b: Vec3): Vec3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

function sizeOf({ positions, triangles }: Mesh): Vec3 {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const v of triangles) {
    for (let k = 0; k < 3; k++) {
      low[k] = Math.min(low[k], positions[3 * v + k]);
      high[k] = Math.max(high[k], positions[3 * v + k]);
    }
  }
  return [high[0] - low[0], high[1] - low[1], high[2] - low[2]];
}
