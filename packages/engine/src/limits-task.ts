import { pieceFindings } from '@stonehand/estimate';
import type { Finding, Material, Pose, Printer, Recipe } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { loadPolygons } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type LimitsInput = Readonly<{
  mesh: MeshRef;
  pose: Pose;
  recipe: Recipe;
  material: Material;
  printer: Printer;
  opaque: boolean;
}>;

/** What may go wrong with a piece in its pose: warping, light through it. */
export const limitsTask: Task<LimitsInput, readonly Finding[]> = {
  name: 'limits',
  keyed: ({ mesh, pose, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh), rotation: pose.rotation }),
  async run({ mesh: ref, pose, ...piece }, { cacheFolder }) {
    const [{ mesh }, polygons] = await Promise.all([loadMesh(ref, cacheFolder), loadPolygons()]);
    return pieceFindings(poseMesh(mesh, pose), polygons, piece);
  },
};
