import type { Pose, Printer, Recipe, Ring, SupportCause, Vec3 } from '@stonehand/model';
import { leaningPose, poseMesh, supportCauses } from '@stonehand/orient';
import { footprint, loadPolygons } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type FitFactsInput = Readonly<{
  mesh: MeshRef;
  recipe: Recipe;
  pose: Pose;
  hullXY: readonly number[];
  /** printers that no listed way up fits: a leaning one is looked for */
  leanOn: readonly Pick<Printer, 'id' | 'usable' | 'keepOut' | 'heightMm'>[];
  seed: number;
}>;

/** What people want to know of the chosen way up beside its figures. */
export type FitFacts = Readonly<{
  /** sides of the smallest rectangle that holds it turned as it suits, its brim included, and its height */
  smallestBedMm: Vec3;
  causes: readonly SupportCause[];
  leaning: readonly Readonly<{ printerId: string; pose: Pose }>[];
}>;

export const fitFactsTask: Task<FitFactsInput, FitFacts> = {
  name: 'fit facts',
  keyed: ({ mesh, pose, hullXY: _, leanOn, ...rest }) => ({
    ...rest,
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    leanOn: leanOn.map(({ id, usable, keepOut, heightMm }) => ({ id, usable, keepOut, heightMm })),
  }),
  async run({ mesh: ref, recipe, pose, hullXY, leanOn, seed }, { cacheFolder }) {
    const { mesh } = await loadMesh(ref, cacheFolder);
    return {
      smallestBedMm: smallestBed(hullXY, pose, recipe),
      causes: supportCauses(mesh, pose.rotation, recipe),
      leaning: leanOn.flatMap((printer) => {
        const found = leaningPose(mesh, printer, recipe, { seed });
        return found === undefined ? [] : [{ printerId: printer.id, pose: found }];
      }),
    };
  },
};

/** One side of the smallest rectangle lies along an edge of the outline, so those turns are tried. */
function smallestBed(hullXY: readonly number[], pose: Pose, { brimMm }: Recipe): Vec3 {
  let best: readonly [number, number] = [Infinity, Infinity];
  for (let i = 0; i < hullXY.length; i += 2) {
    const j = (i + 2) % hullXY.length;
    const rad = -Math.atan2(hullXY[j + 1]! - hullXY[i + 1]!, hullXY[j]! - hullXY[i]!);
    const [c, s] = [Math.cos(rad), Math.sin(rad)];
    let [left, right, front, back] = [Infinity, -Infinity, Infinity, -Infinity];
    for (let k = 0; k < hullXY.length; k += 2) {
      const x = c * hullXY[k]! - s * hullXY[k + 1]!;
      const y = s * hullXY[k]! + c * hullXY[k + 1]!;
      left = Math.min(left, x);
      right = Math.max(right, x);
      front = Math.min(front, y);
      back = Math.max(back, y);
    }
    const sides = [right - left, back - front].sort((p, q) => q - p) as [number, number];
    if (sides[0] * sides[1] < best[0] * best[1] * (1 - 1e-9)) best = sides;
  }
  return [best[0] + 2 * brimMm, best[1] + 2 * brimMm, pose.heightMm];
}

export type TrueOutlineInput = Readonly<{ mesh: MeshRef; pose: Pose }>;

/** The outer rings of a posed part's shadow, for plates with kept-out corners that its hull would cover. */
export const trueOutlineTask: Task<TrueOutlineInput, readonly Ring[]> = {
  name: 'true outline',
  keyed: ({ mesh, pose }) => ({ mesh: keyOfMesh(mesh), rotation: pose.rotation }),
  async run({ mesh: ref, pose }, { cacheFolder }) {
    const [{ mesh }, polygons] = await Promise.all([loadMesh(ref, cacheFolder), loadPolygons()]);
    const rings = footprint(poseMesh(mesh, pose), polygons, { toleranceMm: 0.2 });
    return rings.filter((ring) => areaOf(ring) > 0);
  },
};

function areaOf(ring: Ring): number {
  let twice = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i++) {
    twice += ring[j]![0] * ring[i]![1] - ring[i]![0] * ring[j]![1];
  }
  return twice / 2;
}
