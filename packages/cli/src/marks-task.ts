import { keyOfMesh, loadMesh, type MeshRef, type Task } from '@stonehand/engine';
import { findingMarks, readingOf } from '@stonehand/mesh';
import type { Vec3 } from '@stonehand/model';
import { type Mark, markedPng, markRgb } from '@stonehand/report';

export type MarksInput = Readonly<{
  mesh: MeshRef;
  /** look for bodies that overlap and surfaces that cross as well, which takes longer */
  crossings: boolean;
}>;

export type MarksOutput = Readonly<{ png: string; kinds: readonly Readonly<{ code: string; count: number }>[] }>;

/** A picture of a mesh with the places of its findings marked; without any of them nothing is drawn. */
export const marksTask: Task<MarksInput, MarksOutput | null> = {
  name: 'marks',
  keyed: ({ mesh, crossings }) => ({ mesh: keyOfMesh(mesh), crossings }),
  async run({ mesh: ref, crossings }, { cacheFolder }) {
    const { file, mesh } = await loadMesh(ref, cacheFolder);
    const { findings } = readingOf(ref.name, { ...file, mesh }, { unit: 'millimeter', unitFrom: 'stated' });
    const doubtful = findings.filter(({ severity }) => severity !== 'note');
    const codes = new Set(doubtful.map(({ code }) => code));
    if (crossings) for (const code of ['overlap', 'selfIntersections']) codes.add(code);
    const all = findingMarks(mesh, codes);
    const marks: Mark[] = all.map(({ code, edges, triangles }) => ({ colour: markRgb(code), edges, triangles }));
    const kinds = all.map(({ code, edges, triangles }) => ({ code, count: edges.length / 2 + triangles.length }));
    for (const { code, atMm, count } of doubtful) {
      if (atMm === undefined || all.some((mark) => mark.code === code)) continue;
      marks.push({ colour: markRgb(code), points: [inMesh(atMm, mesh.originMm)] });
      kinds.push({ code, count });
    }
    if (marks.length === 0) return null;
    return { png: Buffer.from(markedPng(mesh, marks)).toString('base64'), kinds };
  },
};

function inMesh(at: Vec3, origin: Vec3): Vec3 {
  return [at[0] - origin[0], at[1] - origin[1], at[2] - origin[2]];
}
