import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { boundingBox, bytesSource, massProperties, readMesh, transformMesh, turnInsideOut } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { SHARED_DATA } from './stonehand.ts';

export const REFERENCE_MESHES: string = join(SHARED_DATA, 'meshes');
export const REFERENCE_ABSENT: boolean = !existsSync(join(REFERENCE_MESHES, 'reference.json'));

export type ReferenceSection = Readonly<{
  z: number;
  perimeter: number;
  area_winding: number | null;
  area_winding_just_below?: number;
  area_winding_just_above?: number;
}>;
export type ReferenceMesh = Readonly<{
  watertight: boolean;
  orientation_consistent: boolean;
  self_intersecting: boolean;
  boundary_edges?: number;
  sections?: readonly ReferenceSection[];
}>;

/** What independent libraries measured, by file name; without broken files and the one that is packed. Empty where the data is absent. */
export const REFERENCES: Readonly<Record<string, ReferenceMesh>> = REFERENCE_ABSENT
  ? {}
  : Object.fromEntries(
      Object.entries(
        JSON.parse(readFileSync(join(REFERENCE_MESHES, 'reference.json'), 'utf8')).meshes as Record<
          string,
          ReferenceMesh
        >,
      ).filter(([name]) => !name.startsWith('broken_') && !name.endsWith('.gz')),
    );

/** Sound: closed, all faces one way, no body through another. Overlapping bodies count twice in a mesh's volume and once in a print. */
export const SOUND_REFERENCES: readonly string[] = Object.keys(REFERENCES).filter((name) => {
  const { watertight, orientation_consistent, self_intersecting } = REFERENCES[name]!;
  return watertight && orientation_consistent && !self_intersecting;
});

const LONGEST_MM = 100;

/** The mesh with its longest side 100 mm, facing outwards. */
export async function readScaled(name: string): Promise<Mesh> {
  const { mesh } = await readMesh(bytesSource(name, readFileSync(join(REFERENCE_MESHES, name))));
  const { min, max } = boundingBox(mesh);
  const k = LONGEST_MM / Math.max(...[0, 1, 2].map((axis) => max[axis]! - min[axis]!));
  const scaled = transformMesh(mesh, [k, 0, 0, 0, 0, k, 0, 0, 0, 0, k, 0]);
  return massProperties(scaled).volumeMm3 < 0 ? turnInsideOut(scaled) : scaled;
}
