import type { BuildItem, Finding, Mesh } from '@stonehand/model';

/** What a file holds: one welded mesh in the file's own numbers, and what was odd about the file itself. */
export type MeshFile = Readonly<{
  /** 'STL binary', 'STL text', 'OBJ', … as shown to people */
  format: string;
  /** only when the file states one; the mesh is not scaled by it */
  unit?: string;
  /** names of solids or objects, in the order of the file */
  names: readonly string[];
  mesh: Mesh;
  /** of a file that asks for several things to be built, all of which are in `mesh`: each, in the order of the file */
  items?: readonly BuildItem[];
  /** names of materials that the file defines, for formats that have them; which triangle is of which is not kept */
  materials?: readonly string[];
  /** what is odd about the file itself; the mesh is judged by readingOf */
  notes: readonly Finding[];
}>;

export const NO_OFFSET: readonly [number, number, number] = [0, 0, 0];
