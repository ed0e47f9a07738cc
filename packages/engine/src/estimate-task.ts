import { estimatePaths } from '@stonehand/estimate';
import type { Estimate, Material, Pose, Printer, Recipe, Ring } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { beadPaths, footprint, listOfRings, loadPolygons, type Polygons, ringsOf, sliceMesh } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type EstimateInput = Readonly<{
  pieceId: string;
  mesh: MeshRef;
  pose: Pose;
  recipe: Recipe;
  material: Material;
  printers: readonly Printer[];
}>;

export type EstimateOutcome = Readonly<{
  estimates: readonly Estimate[];
  /** the true shadow on the plate */
  footprint: readonly Ring[];
  /** the shadow as packing sees it: without bays and holes that no other piece could use */
  outline: readonly Ring[];
}>;

/** A fifth of the accuracy of a printed outline. */
const SHADOW_TOLERANCE_MM = 0.05;
/** Half the width of a bay that a neighbour could reach into, clearance and a slim part included. */
const BAY_MM = 6;
/** Holes below this hold no other piece with its clearance: 25 mm across. */
const LEAST_HOLE_MM2 = 500;

/** Sliced once in its pose, timed on each printer; the shadow on the plate comes from the same layers. */
export const estimateTask: Task<EstimateInput, EstimateOutcome> = {
  name: 'estimate',
  // The piece's name is only a label, put on again by the caller.
  keyed: ({ mesh, pose, recipe, material, printers }) => ({
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    recipe,
    material,
    printers,
  }),
  async run({ pieceId, mesh: ref, pose, recipe, material, printers }, { cacheFolder }) {
    const [{ mesh }, polygons] = await Promise.all([loadMesh(ref, cacheFolder), loadPolygons()]);
    const loops = sliceMesh(poseMesh(mesh, pose), recipe);
    const paths = beadPaths(loops, recipe, polygons);
    const shadow = footprint(loops, polygons, { toleranceMm: SHADOW_TOLERANCE_MM });
    return {
      estimates: printers.map((printer) => estimatePaths(paths, { pieceId, recipe, printer, material })),
      footprint: shadow,
      outline: packingOutline(shadow, polygons),
    };
  },
};

// Grown and shrunk again, bays narrower than a small piece close; the result covers the true shadow and stays within its hull.
function packingOutline(shadow: readonly Ring[], polygons: Polygons): Ring[] {
  const grown = polygons.offset(ringsOf(shadow), BAY_MM, { join: 'round' });
  const closed = polygons.union(ringsOf(shadow), polygons.offset(grown, -BAY_MM, { join: 'round' }));
  const rings = listOfRings(closed).filter((ring) => ringAreaMm2(ring) > 0 || ringAreaMm2(ring) < -LEAST_HOLE_MM2);
  polygons.free();
  return rings;
}

function ringAreaMm2(ring: Ring): number {
  let sum = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++)
    sum += ring[j]![0] * ring[i]![1] - ring[i]![0] * ring[j]![1];
  return sum / 2;
}
