import type { Contact, JointCheck, Sweep } from '@stonehand/inspect';
import { transformMesh } from '@stonehand/mesh';
import type { Joint, Mesh, Placement } from '@stonehand/model';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type PlacedMesh = Readonly<{ name: string; mesh: MeshRef; place: Placement }>;

/** A joint measured in place: its surroundings by samples, the two solids exactly, and over its movement where it has one. */
export type JointOutcome = Readonly<{ check: JointCheck; contact?: Contact; sweep?: Sweep; why?: string }>;

/** Declared joints; the parts stand in the axes of the assembly that states the joint. Of a joint that moves, the second part moves. */
export const jointsTask: Task<Readonly<{ joint: Joint; parts: readonly PlacedMesh[] }>, JointOutcome> = {
  name: 'joints',
  keyed: ({ joint, parts }) => ({ joint, parts: parts.map(keyOfPlaced) }),
  async run({ joint, parts }, { cacheFolder }) {
    const { checkJoints, loadSolids } = await import('@stonehand/inspect');
    const meshes = new Map<string, Mesh>();
    for (const part of parts) meshes.set(part.name, await placedMesh(part, cacheFolder));
    const check = checkJoints([joint], meshes)[0]!;
    const [a, b] = joint.between.map((name) => meshes.get(name));
    if (a === undefined || b === undefined) return { check };
    try {
      const solids = await loadSolids();
      const contact = solids.contact(a, b);
      const { kind, atMm, axis, sweep } = joint;
      if (sweep === undefined || (kind !== 'turning' && kind !== 'sliding')) return { check, contact };
      return { check, contact, sweep: solids.sweep(a, b, { kind, atMm, axis, from: sweep[0], to: sweep[1] }) };
    } catch (error) {
      return { check, why: (error as Error).message };
    }
  },
};

/** How much two parts fill of the same space, where they stand. */
export const overlapTask: Task<Readonly<{ parts: readonly [PlacedMesh, PlacedMesh] }>, Contact> = {
  name: 'overlap',
  keyed: ({ parts }) => ({ parts: parts.map(keyOfPlaced) }),
  async run({ parts: [a, b] }, { cacheFolder }) {
    const { loadSolids } = await import('@stonehand/inspect');
    const solids = await loadSolids();
    // Only what overlaps is asked about: the distance may stop at once.
    return solids.contact(await placedMesh(a, cacheFolder), await placedMesh(b, cacheFolder), 0.01);
  },
};

function keyOfPlaced({ name, mesh, place }: PlacedMesh): Readonly<{ name: string; place: Placement; mesh: unknown }> {
  return { name, place, mesh: keyOfMesh(mesh) };
}

async function placedMesh({ mesh, place }: PlacedMesh, cacheFolder: string): Promise<Mesh> {
  return transformMesh((await loadMesh(mesh, cacheFolder)).mesh, place);
}
