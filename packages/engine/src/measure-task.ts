import type { Reading } from '@stonehand/model';
import type { Task } from './engine.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type MeasureInput = Readonly<{
  mesh: MeshRef;
  sectionsMm: readonly number[];
  /** full: self-intersections, overlapping bodies and thin walls are looked for too */
  depth?: 'quick' | 'full';
  thinMm?: number;
}>;

/** One mesh as it is in its file, in mm, with the areas of the cuts that were asked for. The caller sets `file`. */
export const measureTask: Task<MeasureInput, Reading> = {
  name: 'measure',
  keyed: ({ mesh, sectionsMm, depth, thinMm }) => ({ ...keyOfMesh(mesh), sectionsMm, depth, thinMm }),
  run: async (input, context) => (await import('./measure-mesh.ts')).measureMesh(input, context),
};
