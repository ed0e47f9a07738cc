import type { BaseChange, ShapeComparison } from '@stonehand/inspect';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

/** Two revisions of a mesh, whole figures. */
export const revisionTask: Task<Readonly<{ a: MeshRef; b: MeshRef }>, ShapeComparison> = {
  name: 'revision',
  keyed: ({ a, b }) => ({ a: keyOfMesh(a), b: keyOfMesh(b) }),
  async run({ a, b }, { cacheFolder }) {
    const { compareShapes } = await import('@stonehand/inspect');
    return compareShapes((await loadMesh(a, cacheFolder)).mesh, (await loadMesh(b, cacheFolder)).mesh);
  },
};

export type BaseInput = Readonly<{ oldBase: MeshRef; newBase: MeshRef; rework: MeshRef }>;

/** What a new revision of a base does to a part reworked from it. */
export const baseTask: Task<BaseInput, BaseChange> = {
  name: 'base',
  keyed: ({ oldBase, newBase, rework }) => ({
    oldBase: keyOfMesh(oldBase),
    newBase: keyOfMesh(newBase),
    rework: keyOfMesh(rework),
  }),
  async run({ oldBase, newBase, rework }, { cacheFolder }) {
    const { baseChange } = await import('@stonehand/inspect');
    const [a, b, c] = await Promise.all([oldBase, newBase, rework].map((ref) => loadMesh(ref, cacheFolder)));
    return baseChange(a!.mesh, b!.mesh, c!.mesh);
  },
};
