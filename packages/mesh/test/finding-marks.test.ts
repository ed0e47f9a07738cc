import {
  findingMarks,
  mergeMeshes,
  readMesh,
  selfIntersections,
  topology,
  transformMesh,
  turnInsideOut,
} from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';
import { boxOf } from './shapes.ts';

const ALL = new Set(['holes', 'facing', 'sharedEdges', 'insideOutBodies', 'overlap', 'selfIntersections']);
const moved = (x: number): readonly number[] => [1, 0, 0, x, 0, 1, 0, 0, 0, 0, 1, 0];

describe.skipIf(REFERENCE_ABSENT)('on the reference meshes (skipped where ../shared/data is absent)', () => {
  // A million triangles add time and nothing else.
  const files = [...referenceMeshes()].filter(([, { triangles }]) => triangles < 120_000);

  test('as many edges are marked as the topology counts, which agrees with other libraries', async () => {
    expect(files.length).toBeGreaterThan(35);
    for (const [file] of files) {
      const { mesh } = await readMesh(referenceSource(file));
      const marks = findingMarks(mesh, new Set(['holes', 'facing', 'sharedEdges']));
      const edgesOf = (code: string): number => (marks.find((mark) => mark.code === code)?.edges.length ?? 0) / 2;
      const { boundaryEdges, nonManifoldEdges, misorientedEdges } = topology(mesh);
      expect([file, edgesOf('holes'), edgesOf('sharedEdges'), edgesOf('facing')]).toEqual([
        file,
        boundaryEdges,
        nonManifoldEdges,
        misorientedEdges,
      ]);
    }
  }, 60_000);
});

test('a sound body has no marks, and what is not asked for is not looked for', () => {
  expect(findingMarks(boxOf(3, 4, 5), ALL)).toEqual([]);
  const pair = mergeMeshes([boxOf(3, 4, 5), transformMesh(boxOf(3, 4, 5), moved(2))]);
  expect(findingMarks(pair, new Set(['holes']))).toEqual([]);
});

test('the faces of a body that looks inwards are marked, and no others', () => {
  const pair = mergeMeshes([boxOf(3, 4, 5), turnInsideOut(transformMesh(boxOf(3, 4, 5), moved(9)))]);
  expect(findingMarks(pair, ALL)).toEqual([
    {
      code: 'insideOutBodies',
      edges: new Uint32Array(0),
      triangles: Uint32Array.from({ length: 12 }, (_, i) => 12 + i),
    },
  ]);
});

test('of overlapping bodies the faces are marked that cross, and all of a body that lies within another', () => {
  const crossing = mergeMeshes([boxOf(3, 4, 5), transformMesh(boxOf(3, 2, 2), [1, 0, 0, 2, 0, 1, 0, 1, 0, 0, 1, 1])]);
  const [mark, ...more] = findingMarks(crossing, ALL);
  expect(more).toEqual([]);
  expect(mark!.code).toBe('overlap');
  const inPairs = new Set<number>();
  selfIntersections(crossing, { onPair: (s, t, crosses) => crosses && inPairs.add(s) && inPairs.add(t) });
  expect([...mark!.triangles].sort((a, b) => a - b)).toEqual([...inPairs].sort((a, b) => a - b));
  const within = mergeMeshes([boxOf(9, 9, 9), transformMesh(boxOf(3, 3, 3), [1, 0, 0, 2, 0, 1, 0, 2, 0, 0, 1, 2])]);
  expect([...findingMarks(within, ALL)[0]!.triangles]).toEqual(Array.from({ length: 12 }, (_, i) => 12 + i));
});
