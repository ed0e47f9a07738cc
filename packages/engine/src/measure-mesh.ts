import { readingOf } from '@stonehand/mesh';
import type { Mesh, Reading, Section } from '@stonehand/model';
import { layerAreaMm2, layerPerimeterMm, sectionsAt } from '@stonehand/slice';
import type { TaskContext } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import type { MeasureInput } from './measure-task.ts';

/** Reading a mesh is about this part of measuring it; what comes after has no steps to tell of. */
const READING = 0.7;

/** The work of measureTask, in a file of its own: the geometry packages are loaded for a miss only. */
export async function measureMesh(
  { mesh: ref, sectionsMm, depth, thinMm }: MeasureInput,
  { cacheFolder, onShare }: TaskContext,
): Promise<Reading> {
  const { file, mesh, unit, unitFrom } = await loadMesh(ref, cacheFolder, (share) => onShare?.(READING * share));
  // A part that is rescaled or mirrored is measured as it is printed; the unit of its file has been applied.
  const asInFile = ref.path === undefined || (ref.scale === 1 && ref.mirror === undefined);
  const printed = asInFile
    ? { file, unit, unitFrom }
    : { file: { ...file, mesh }, unit: 'millimeter', unitFrom: 'stated' as const };
  const reading = readingOf(ref.name, printed.file, {
    unit: printed.unit,
    unitFrom: printed.unitFrom,
    ...(depth === undefined ? {} : { depth }),
    ...(thinMm === undefined ? {} : { thinMm }),
  });
  const told = asInFile ? reading : { ...reading, unit, unitFrom };
  return sectionsMm.length === 0 ? told : { ...told, sections: sectionsOf(mesh, sectionsMm) };
}

function sectionsOf(mesh: Mesh, zMm: readonly number[]): Section[] {
  const loops = sectionsAt(mesh, zMm);
  return zMm.map((z, i) => ({ zMm: z, areaMm2: layerAreaMm2(loops, i), perimeterMm: layerPerimeterMm(loops, i) }));
}
