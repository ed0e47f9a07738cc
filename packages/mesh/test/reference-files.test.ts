import { readdirSync } from 'node:fs';
import { readMesh } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { REFERENCE_ABSENT, REFERENCE_FOLDER, referenceMeshes, referenceSource } from './reference-meshes.ts';

// What the README of the reference meshes lists without a count of triangles must be refused; all else is read.
const REFUSED: Readonly<Record<string, RegExp>> = {
  'broken_twoVertices.ascii.stl': /line 6: a facet has 2 vertices instead of 3/,
  'broken_fourVertices.ascii.stl': /line 7: a facet has more than 3 vertices instead of 3/,
  'mustfail_no_model_part.3mf': /3MF core 2\.1\.1/,
  'mustfail_dtd.3mf': /3MF core 2\.3\.2/,
  'mustfail_build_item_no_object.3mf': /3MF core 3\.4\.3\.1/,
  'mustfail_two_models.3mf': /XML 1\.0/,
  'mustfail_object_type.3mf': /3MF core 4/,
  'mustfail_comma_decimal.3mf': /3MF core 2\.3\.2 and ST_Number/,
};
const SUPPORT_TRIANGLES = { 'explicit_support.3mf': 80 }; // counted by the reference, left out here

describe.skipIf(REFERENCE_ABSENT)('every reference file (skipped where ../shared/data/meshes is absent)', () => {
  const expected = referenceMeshes();
  const files = REFERENCE_ABSENT ? [] : readdirSync(REFERENCE_FOLDER).filter((file) => !/\.(json|md)$/.test(file));

  test('the folder holds 47 meshes to read and 8 to refuse', () => {
    expect(files.filter((file) => file in REFUSED)).toHaveLength(8);
    expect(files.filter((file) => !(file in REFUSED)).every((file) => expected.has(file))).toBe(true);
    expect(files).toHaveLength(55);
  });

  for (const file of files) {
    const rule = REFUSED[file];
    test(`${file} is ${rule === undefined ? 'read with the triangles that the reference counts' : `refused: ${rule.source}`}`, async () => {
      if (rule !== undefined) {
        await expect(readMesh(referenceSource(file))).rejects.toThrow(rule);
        return;
      }
      const { mesh } = await readMesh(referenceSource(file));
      const left = (SUPPORT_TRIANGLES as Readonly<Record<string, number>>)[file] ?? 0;
      expect(mesh.triangles.length / 3).toBe(expected.get(file)!.triangles - left);
    });
  }
});
