import { existsSync, readFileSync } from 'node:fs';
import { estimatePaths } from '@stonehand/estimate';
import { bytesSource, readStl, transformMesh } from '@stonehand/mesh';
import type { Mesh, Recipe } from '@stonehand/model';
import { defaultShop } from '@stonehand/shop';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { massRaster } from './oracles/mass-raster.ts';

const polygons = await loadPolygons();
const shop = defaultShop();
const [printer, material] = [shop.printers[0]!, shop.materials[0]!];
const PIXEL_MM = 0.2;

const RECIPE: Recipe = { ...shop.recipes[0]!, perimeters: 2, roofLayers: 3, floorLayers: 3, infillShare: 0.15 };

/** Boxes side by side: heavy and light ends, so that even density would give another centre. */
function boxes(...sizes: readonly (readonly [number, number, number, number, number, number])[]): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  const faces = [
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ];
  for (const [x, y, z, w, d, h] of sizes) {
    const base = positions.length / 3;
    for (let i = 0; i < 8; i++) positions.push(x + (i & 1 ? w : 0), y + (i & 2 ? d : 0), z + (i & 4 ? h : 0));
    triangles.push(...faces.map((v) => base + v));
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

/** Rods of beads against voxels of the same layers: mass, centre within 1 % of the radius of gyration, tensor of its largest entry. */
function judge(mesh: Mesh, recipe: Recipe): void {
  const paths = beadPaths(sliceMesh(mesh, recipe), recipe, polygons);
  const { partG, centreMm, inertiaGMm2 } = estimatePaths(paths, { pieceId: 'part', recipe, printer, material });
  const raster = massRaster(paths, material.densityGPerCm3, PIXEL_MM);
  expect(Math.abs(partG / raster.massG - 1)).toBeLessThan(0.01);
  const size = Math.max(...raster.inertiaGMm2.map(Math.abs));
  const gyration = Math.sqrt(size / raster.massG);
  for (let k = 0; k < 3; k++)
    expect(Math.abs(centreMm[k]! - raster.centreMm[k]!), `centre ${'xyz'[k]}`).toBeLessThan(0.01 * gyration);
  for (let k = 0; k < 6; k++)
    expect(Math.abs(inertiaGMm2[k]! - raster.inertiaGMm2[k]!), `tensor ${k}`).toBeLessThan(0.01 * size);
}

describe('printed mass, centre and inertia against voxels of 0.2 mm, within 1 %', () => {
  test('a thin wall beside a block with infill: the wall counts in full, the block does not', () => {
    const mesh = boxes([0, 0, 0, 24, 18, 10], [24, 0, 0, 40, 1.8, 16]);
    judge(mesh, RECIPE);
    // Even density would put the centre elsewhere by more than the test allows: the distribution is what is checked.
    const paths = beadPaths(sliceMesh(mesh, RECIPE), RECIPE, polygons);
    const { centreMm } = estimatePaths(paths, { pieceId: 'part', recipe: RECIPE, printer, material });
    const even = (24 * 18 * 10 * 12 + 40 * 1.8 * 16 * 44) / (24 * 18 * 10 + 40 * 1.8 * 16);
    expect(Math.abs(centreMm[0] - even)).toBeGreaterThan(1.5);
  });

  test('a block turned by 30°, printed solid', () => {
    const [c, s] = [Math.cos(Math.PI / 6), Math.sin(Math.PI / 6)];
    const turned = transformMesh(boxes([0, 0, 0, 30, 12, 6]), [c, -s, 0, 40, s, c, 0, -15, 0, 0, 1, 0]);
    judge(turned, { ...RECIPE, infillShare: 1, infillPattern: 'lines' });
  });

  const beak = new URL('../parts/heron/head/lower-beak.stl', import.meta.url);
  test.skipIf(!existsSync(beak))('a beak of the demo (skipped while there is none)', () => {
    const { mesh } = readStl(bytesSource('lower-beak.stl', readFileSync(beak)));
    judge(mesh, RECIPE);
  });
});
