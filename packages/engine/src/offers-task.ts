import { hollowOffer, whatIfRows } from '@stonehand/estimate';
import type { HollowOffer, Material, Pose, Printer, Recipe, WhatIfRow } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { loadPolygons } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type OffersInput = Readonly<{
  mesh: MeshRef;
  pose: Pose;
  recipe: Recipe;
  material: Material;
  printer: Printer;
  /** rows of other recipes */
  whatIf: boolean;
  /** a wall to hollow behind */
  hollowMm?: number;
}>;

export type Offers = Readonly<{ whatIf?: readonly WhatIfRow[]; hollow?: HollowOffer }>;

/** What else could be done with a piece: other recipes, a cavity. Costs several slicings, so it is asked for and cached by itself. */
export const offersTask: Task<OffersInput, Offers> = {
  name: 'offers',
  keyed: ({ mesh, pose, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh), rotation: pose.rotation }),
  async run({ mesh: ref, pose, recipe, material, printer, whatIf, hollowMm }, { cacheFolder }) {
    const [{ mesh }, polygons] = await Promise.all([loadMesh(ref, cacheFolder), loadPolygons()]);
    const posed = poseMesh(mesh, pose);
    return {
      ...(whatIf ? { whatIf: whatIfRows(posed, polygons, { recipe, printer, material }) } : {}),
      ...(hollowMm === undefined
        ? {}
        : { hollow: hollowOffer(posed, polygons, { recipe, printer, material, wallMm: hollowMm }) }),
    };
  },
};
