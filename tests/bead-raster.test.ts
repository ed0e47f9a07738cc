import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { bytesSource, readStl } from '@stonehand/mesh';
import type { Mesh, Recipe } from '@stonehand/model';
import { beadPaths, loadPolygons, sectionsAt, sliceMesh } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { REFERENCE_ABSENT, readScaled, SOUND_REFERENCES } from './helpers/reference-meshes.ts';
import { type LayerRaster, rasterLayer } from './oracles/bead-raster.ts';

const polygons = await loadPolygons();
const ROOT = new URL('../', import.meta.url);

const SOLID: Recipe = {
  id: 'solid',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 1,
  infillPattern: 'lines',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'none',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 0,
};

/** Layers spread over the height, each printed solid and alone; large sections get larger pixels: at most 4000 × 4000. */
function rasters(mesh: Mesh, shares: readonly number[]): LayerRaster[] {
  const whole = sliceMesh(mesh, SOLID);
  const n = whole.zMm.length;
  const layers = [...new Set(shares.map((share) => Math.min(n - 1, Math.floor(share * n))))];
  return layers.map((layer) => {
    const zMm = whole.zMm[layer];
    const loops = { ...sectionsAt(mesh, [zMm]), bottomMm: zMm - 0.1, topMm: Float64Array.of(zMm + 0.1) };
    let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    for (const v of loops.xyMm) [low, high] = [Math.min(low, v), Math.max(high, v)];
    const raster = rasterLayer(loops, beadPaths(loops, SOLID, polygons), 0, {
      pixelMm: Math.max(0.05, (high - low) / 4000),
    });
    return { ...raster, layer };
  });
}

function judge(mesh: Mesh, shares: readonly number[] = [0.02, 0.17, 0.33, 0.5, 0.66, 0.83, 0.97]): void {
  const layers = rasters(mesh, shares);
  const section = layers.reduce((sum, layer) => sum + layer.sectionMm2, 0);
  expect(section).toBeGreaterThan(0);
  for (const layer of layers)
    expect(layer.outsideMm2, `layer ${layer.layer} reaches ${layer.farthestMm} mm outside`).toBe(0);
  const uncovered = layers.reduce((sum, layer) => sum + layer.uncoveredMm2, 0);
  expect(uncovered / section, 'share of the solid section without a bead').toBeLessThan(0.02);
}

function readPart(url: URL): Mesh {
  return readStl(bytesSource(url.pathname, readFileSync(url))).mesh;
}

describe('beads stay inside the section by 0.05 mm and cover a solid section to 98 %', () => {
  test('a block', () => {
    const positions = Float64Array.from(
      Array.from({ length: 8 }, (_, i) => [i & 1 ? 20 : 0, i & 2 ? 13 : 0, i & 4 ? 4 : 0]).flat(),
    );
    const triangles = Uint32Array.from([
      0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
    ]);
    judge({ positions, triangles, originMm: [0, 0, 0] });
  });

  describe.skipIf(REFERENCE_ABSENT)(
    'reference meshes, longest side 100 mm (skipped where ../shared/data is absent)',
    () => {
      test.each(SOUND_REFERENCES)('%s', async (name) => judge(await readScaled(name), [0.31, 0.77]));
    },
  );

  const folder = new URL('parts/', ROOT);
  const parts = existsSync(folder)
    ? readdirSync(folder, { recursive: true, encoding: 'utf8' })
        .filter((name) => name.endsWith('.stl'))
        .sort()
    : [];
  describe.skipIf(parts.length === 0)('parts of the demo workspace (skipped while there are none)', () => {
    test.each(parts)('%s', (part) => judge(readPart(new URL(part, folder)), [0.3, 0.9]));
  });
});
