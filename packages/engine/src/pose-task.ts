import { massProperties } from '@stonehand/mesh';
import type { Box, Pose, Recipe, Vec3 } from '@stonehand/model';
import { candidatePoses, poseCost, poseOf, SUPPORT_ONLY, shadowHull } from '@stonehand/orient';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type PoseInput = Readonly<{
  mesh: MeshRef;
  recipe: Recipe;
  rule: 'auto' | 'asModelled' | 'bestOf';
  /** a pose that was accepted: then it is the only one */
  accepted?: readonly number[];
  /** further ways up, out of the plate in the mesh's coordinates, such as the one in which a cut piece was planned */
  ups?: readonly Vec3[];
  rounds?: number;
  seed: number;
  /** support alone counts */
  weights?: 'support';
  downs?: readonly Vec3[];
  load?: Vec3;
  showSide?: Vec3;
  supportIn?: readonly Box[];
}>;

/** A pose and the hull of its shadow on the plate, x, y pairs in posed coordinates. */
export type PoseAndHull = Readonly<{ pose: Pose; hullXY: readonly number[] }>;

/** The poses worth having, best first, each with the hull that decides where it fits. */
export const poseTask: Task<PoseInput, readonly PoseAndHull[]> = {
  name: 'poses',
  keyed: ({ mesh, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh) }),
  async run({ mesh: ref, recipe, rule, accepted, weights, ups = [], ...options }, { cacheFolder }) {
    const { mesh } = await loadMesh(ref, cacheFolder);
    const search = { ...options, rule, ...(weights && { weights: SUPPORT_ONLY }) };
    const poses =
      accepted === undefined
        ? withMore(candidatePoses(mesh, recipe, search))
        : [acceptedPose(poseOf(mesh, accepted, recipe))];
    return poses.map((pose) => ({ pose, hullXY: [...shadowHull(mesh, pose)] }));

    function withMore(found: readonly Pose[]): readonly Pose[] {
      if (ups.length === 0) return found;
      const downs = ups.map(([x, y, z]): Vec3 => [-x, -y, -z]);
      const { volumeMm3 } = massProperties(mesh);
      return [...found, ...candidatePoses(mesh, recipe, { ...search, downs })].sort(
        (a, b) => poseCost(a, volumeMm3, recipe) - poseCost(b, volumeMm3, recipe),
      );
    }
  },
};

function acceptedPose(pose: Pose): Pose {
  return { ...pose, reason: 'accepted' };
}
