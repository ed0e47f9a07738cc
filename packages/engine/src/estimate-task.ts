import { estimatePaths } from '@stonehand/estimate';
import type { Estimate, Material, Pose, Printer, Recipe, Ring } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { beadPaths, footprint, loadPolygons, sliceMesh } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { keyOfMesh, loadMesh, type MeshRef } from './load-mesh.ts';

export type EstimateInput = Readonly<{
  pieceId: string;
  mesh: MeshRef;
  pose: Pose;
  recipe: Recipe;
  material: Material;
  printers: readonly Printer[];
}>;

export type EstimateOutcome = Readonly<{ estimates: readonly Estimate[]; footprint: readonly Ring[] }>;

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
    return {
      estimates: printers.map((printer) => estimatePaths(paths, { pieceId, recipe, printer, material })),
      footprint: footprint(loops, polygons),
    };
  },
};
