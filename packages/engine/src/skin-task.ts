import { type OutsideSkin, outsideSkin } from '@stonehand/inspect';
import type { Vec3 } from '@stonehand/model';
import type { Plane } from '@stonehand/split';
import { sectionOf } from '@stonehand/split';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

/** What is asked of a part's surface: what paint reaches, and the seams of its cuts. */
export type SkinInput = Readonly<{ mesh: MeshRef; paint: boolean; planes: readonly Plane[] }>;

export type SkinOutcome = Readonly<{
  skin?: OutsideSkin;
  seams: readonly Readonly<{ atMm: Vec3; lengthMm: number }>[];
}>;

/** The surface of a part as paint and glue see it. */
export const skinTask: Task<SkinInput, SkinOutcome> = {
  name: 'skin',
  keyed: ({ mesh, paint, planes }) => ({ mesh: keyOfMesh(mesh), paint, planes }),
  async run({ mesh: ref, paint, planes }, { cacheFolder }) {
    const { mesh } = await loadMesh(ref, cacheFolder);
    const seams = planes.flatMap((plane) => {
      const section = sectionOf(mesh, plane);
      if (section === undefined) return [];
      const atMm = middleOf(section.rings, section.axisX, section.axisY, plane);
      // A wall has its outline on both sides; a bead of glue goes along it once.
      return [{ atMm, lengthMm: section.lineMm / 2 }];
    });
    return { seams, ...(paint ? { skin: outsideSkin(mesh) } : {}) };
  },
};

/** Centre of the outlines, by length. */
function middleOf(
  rings: NonNullable<ReturnType<typeof sectionOf>>['rings'],
  axisX: Vec3,
  axisY: Vec3,
  { normal, offsetMm }: Plane,
): Vec3 {
  let [x, y, whole] = [0, 0, 0];
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[j]!, ring[i]!];
      const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
      x += (length * (a[0] + b[0])) / 2;
      y += (length * (a[1] + b[1])) / 2;
      whole += length;
    }
  }
  const n = Math.hypot(...normal) ** 2;
  const at = (k: 0 | 1 | 2): number => (x * axisX[k] + y * axisY[k]) / whole + (offsetMm * normal[k]) / n;
  return [at(0), at(1), at(2)];
}
