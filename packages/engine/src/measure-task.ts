import { readingOf } from '@stonehand/mesh';
import type { Mesh, Reading, Section } from '@stonehand/model';
import { layerAreaMm2, layerPerimeterMm, sectionsAt } from '@stonehand/slice';
import type { Task } from './engine.ts';
import { keyOfMesh, loadMesh, type MeshRef } from './load-mesh.ts';

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
  async run({ mesh: ref, sectionsMm, depth, thinMm }, { cacheFolder }) {
    const { file, mesh, unit, unitFrom } = await loadMesh(ref, cacheFolder);
    const reading = readingOf(ref.name, file, {
      unit,
      unitFrom,
      ...(depth === undefined ? {} : { depth }),
      ...(thinMm === undefined ? {} : { thinMm }),
    });
    return sectionsMm.length === 0 ? reading : { ...reading, sections: sectionsOf(mesh, sectionsMm) };
  },
};

function sectionsOf(mesh: Mesh, zMm: readonly number[]): Section[] {
  const loops = sectionsAt(mesh, zMm);
  return zMm.map((z, i) => ({ zMm: z, areaMm2: layerAreaMm2(loops, i), perimeterMm: layerPerimeterMm(loops, i) }));
}
