import { checkJoints, type JointCheck } from '@stonehand/inspect';
import { transformMesh } from '@stonehand/mesh';
import type { Joint, Mesh, Placement } from '@stonehand/model';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type PlacedMesh = Readonly<{ name: string; mesh: MeshRef; place: Placement }>;

/** Declared joints measured in place; the parts stand in the axes of the assembly that states the joints. */
export const jointsTask: Task<Readonly<{ joint: Joint; parts: readonly PlacedMesh[] }>, JointCheck> = {
  name: 'joints',
  keyed: ({ joint, parts }) => ({
    joint,
    parts: parts.map(({ name, mesh, place }) => ({ name, place, mesh: keyOfMesh(mesh) })),
  }),
  async run({ joint, parts }, { cacheFolder }) {
    const meshes = new Map<string, Mesh>();
    for (const { name, mesh, place } of parts)
      meshes.set(name, transformMesh((await loadMesh(mesh, cacheFolder)).mesh, place));
    return checkJoints([joint], meshes)[0]!;
  },
};
