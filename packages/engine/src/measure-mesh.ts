import { readingOf } from '@stonehand/mesh';
import type { Mesh, Reading, Section } from '@stonehand/model';
import { layerAreaMm2, layerPerimeterMm, sectionsAt } from '@stonehand/slice';
import type { TaskContext } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import type { MeasureInput } from './measure-task.ts';

/** The work of measureTask, in a file of its own: the geometry packages are loaded for a miss only. */
export async function measureMesh(
  { mesh: ref, sectionsMm, depth, thinMm }: MeasureInput,
  { cacheFolder }: TaskContext,
): Promise<Reading> {
  const { file, mesh, unit, unitFrom } = await loadMesh(ref, cacheFolder);
  const reading = readingOf(ref.name, file, {
    unit,
    unitFrom,
    ...(depth === undefined ? {} : { depth }),
    ...(thinMm === undefined ? {} : { thinMm }),
  });
  return sectionsMm.length === 0 ? reading : { ...reading, sections: sectionsOf(mesh, sectionsMm) };
}

function sectionsOf(mesh: Mesh, zMm: readonly number[]): Section[] {
  const loops = sectionsAt(mesh, zMm);
  return zMm.map((z, i) => ({ zMm: z, areaMm2: layerAreaMm2(loops, i), perimeterMm: layerPerimeterMm(loops, i) }));
}
