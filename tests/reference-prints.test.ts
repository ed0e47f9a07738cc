import { join } from 'node:path';
import { measureFiles, openEngine } from '@stonehand/engine';
import { estimatePaths } from '@stonehand/estimate';
import { massProperties } from '@stonehand/mesh';
import type { Mesh, Recipe } from '@stonehand/model';
import { defaultShop } from '@stonehand/shop';
import { beadPaths, layerAreaMm2, loadPolygons, sliceMesh } from '@stonehand/slice';
import { afterAll, describe, expect, test } from 'vitest';
import {
  REFERENCE_ABSENT,
  REFERENCE_MESHES,
  REFERENCES,
  readScaled,
  SOUND_REFERENCES,
} from './helpers/reference-meshes.ts';
import { freshFolder } from './helpers/stonehand.ts';

// Sections and volumes made by VTK 9.1.0, shapely, numpy and manifold-3d 3.5.4; see the README beside the data.
describe.skipIf(REFERENCE_ABSENT)('reference meshes (skipped where ../shared/data is absent)', () => {
  describe('measure with sections: area and outline at every height of reference.json within 1e-5', () => {
    const engine = openEngine({ cacheFolder: freshFolder('sections'), workers: 1 });
    afterAll(() => engine.close());
    // GLB is y up in the file and turned on reading; explicit_support holds a body of support, which is no part.
    const withSections = Object.keys(REFERENCES).filter(
      (name) =>
        REFERENCES[name]!.sections !== undefined &&
        REFERENCES[name]!.boundary_edges === 0 &&
        !name.endsWith('.glb') &&
        name !== 'explicit_support.3mf',
    );
    test.each(withSections)('%s', async (name) => {
      const reference = REFERENCES[name]!;
      const expected = reference.sections!;
      // Units of 3MF are converted on reading; the reference keeps the file's numbers.
      const [row] = await measureFiles(engine, [join(REFERENCE_MESHES, name)], {
        unit: 'mm',
        sectionsMm: expected.map(({ z }) => z),
      });
      if (row === undefined || 'error' in row) throw new Error(`${name} is not read`);
      const widest = Math.max(...expected.map(({ area_winding }) => Math.abs(area_winding ?? 0)));
      const longest = Math.max(...expected.map(({ perimeter }) => perimeter));
      expected.forEach((section, i) => {
        const { areaMm2, perimeterMm } = row.sections![i]!;
        // Where a face lies on the plane either side is right.
        const sides = [section.area_winding, section.area_winding_just_below, section.area_winding_just_above]
          .filter((area) => typeof area === 'number')
          .map(Math.abs);
        if (sides.length > 0) {
          expect(Math.abs(areaMm2)).toBeGreaterThanOrEqual(Math.min(...sides) - 1e-5 * widest);
          expect(Math.abs(areaMm2)).toBeLessThanOrEqual(Math.max(...sides) + 1e-5 * widest);
        }
        if (section.area_winding_just_below === undefined)
          expect(Math.abs(perimeterMm - section.perimeter)).toBeLessThanOrEqual(1e-5 * longest);
      });
    });
  });

  test('there are sound meshes to print', () => expect(SOUND_REFERENCES.length).toBeGreaterThan(20));

  test.each(SOUND_REFERENCES)(
    '%s: layers of 0.1 mm add up to its volume within 0.1 %% and half a layer of its flat faces',
    async (name) => {
      const mesh = await readScaled(name);
      const layerMm = 0.1;
      const loops = sliceMesh(mesh, { layerMm, firstLayerMm: layerMm });
      let sum = 0;
      for (let i = 0; i < loops.zMm.length; i++) sum += layerAreaMm2(loops, i) * layerMm;
      const { volumeMm3 } = massProperties(mesh);
      const allowed = 0.001 * volumeMm3 + (layerMm / 2) * flatAreaMm2(mesh);
      expect(Math.abs(sum - volumeMm3)).toBeLessThanOrEqual(allowed);
    },
  );

  const polygons = loadPolygons();
  const { printers, materials, recipes } = defaultShop();
  // Sparse figures of the standard recipe would hide a leak: filled solid, no support, no brim.
  const solid: Recipe = { ...recipes[0]!, infillShare: 1, infillPattern: 'lines', support: 'none', brimMm: 0 };

  test.each(SOUND_REFERENCES)('%s: filled solid it takes its volume of plastic within 1 %%', async (name) => {
    const mesh = await readScaled(name);
    const loops = sliceMesh(mesh, solid);
    const paths = beadPaths(loops, solid, await polygons);
    const { byKind } = estimatePaths(paths, {
      pieceId: name,
      recipe: solid,
      printer: printers[0]!,
      material: materials[0]!,
    });
    const depositedMm3 = byKind.reduce((sum, { volumeMm3 }) => sum + volumeMm3, 0);
    const { volumeMm3 } = massProperties(mesh);
    expect(Math.abs(depositedMm3 / volumeMm3 - 1)).toBeLessThanOrEqual(0.01);
  });
});

/** Area of all faces that lie flat. */
function flatAreaMm2({ positions: p, triangles: t }: Mesh): number {
  let sum = 0;
  for (let h = 0; h < t.length; h += 3) {
    const [a, b, c] = [3 * t[h]!, 3 * t[h + 1]!, 3 * t[h + 2]!];
    const u = [0, 1, 2].map((k) => p[b + k]! - p[a + k]!);
    const v = [0, 1, 2].map((k) => p[c + k]! - p[a + k]!);
    const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
    const twice = Math.hypot(...n);
    if (Math.abs(n[2]!) > 0.99999 * twice) sum += twice / 2;
  }
  return sum;
}
