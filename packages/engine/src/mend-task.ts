import type { Mending } from '@stonehand/model';
import type { Task } from './engine.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type MendInput = Readonly<{ mesh: MeshRef }>;

/** Nothing but the reference that was given where there was nothing to mend. */
export type MendOutcome = Readonly<{ ref?: MeshRef; mending?: Mending }>;

/** Mends a mesh in mm as the workspace scales it; the mended one is kept in the cache by content, like a cut piece. */
export const mendTask: Task<MendInput, MendOutcome> = {
  name: 'mend',
  keyed: ({ mesh }) => keyOfMesh(mesh),
  run: async (input, context) => (await import('./mend-mesh.ts')).mendMesh(input, context),
};
