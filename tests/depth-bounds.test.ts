import { readFileSync } from 'node:fs';
import {
  calibrate,
  calibrated,
  DEPTH_BOUNDS,
  estimatePaths,
  MASS_PRIOR,
  quickEstimate,
  rankEstimate,
  TIME_PRIOR,
} from '@stonehand/estimate';
import { bytesSource, readStl } from '@stonehand/mesh';
import type { Estimate, Mesh, Recipe } from '@stonehand/model';
import { defaultShop } from '@stonehand/shop';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { REFERENCE_ABSENT, readScaled, SOUND_REFERENCES } from './helpers/reference-meshes.ts';

const polygons = await loadPolygons();
const shop = defaultShop();
const ROOT = new URL('../', import.meta.url);
// Gyroid infill and support: what changes most from layer to layer.
const RECIPE: Recipe = {
  id: 'depths',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'gyroid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 0,
};
const PARTS = ['head/neck-yoke', 'head/jaw-hinge', 'legs/hinge-hub', 'legs/hinge-fork', 'body/rib-hoop'];

describe('quick and rank say how far they may be from full, and keep to it', () => {
  test.each(PARTS)('%s of the demo', (name) => {
    const url = new URL(`parts/heron/${name}.stl`, ROOT);
    expectBounds(readStl(bytesSource(url.pathname, readFileSync(url))).mesh, RECIPE);
  });

  test('what the record taught narrows the interval, but not below the bound', () => {
    const plate = readStl(bytesSource('plate', plateOf(20, 20, 6))).mesh;
    const options = { pieceId: 'piece', recipe: RECIPE, printer: shop.printers[0]!, material: shop.materials[0]! };
    const estimate = rankEstimate(sliceMesh(plate, RECIPE), { ...options, polygons });
    const shares = { walls: 0.5, fill: 0.5, support: 0 };
    const records = Array.from({ length: 20 }, () => ({ ratio: 1, shares }));
    const learnt = { mass: calibrate(records, MASS_PRIOR), time: calibrate(records, TIME_PRIOR) };
    const { massG, durationS } = calibrated(estimate, learnt);
    const { bound: _, ...asFull } = estimate;
    const full = calibrated(asFull as Estimate, learnt);
    expect(massG.high! - full.massG.high!).toBeCloseTo(DEPTH_BOUNDS.rank.mass * massG.value, 9);
    expect(full.durationS.low! - durationS.low!).toBeCloseTo(DEPTH_BOUNDS.rank.time * durationS.value, 6);
  });

  test('no layer at all but the first', () => {
    const plate = readStl(bytesSource('plate', plateOf(20, 20, 0.2))).mesh;
    expectBounds(plate, RECIPE);
  });
});

describe.skipIf(REFERENCE_ABSENT)(
  'the same on the sound reference meshes, 100 mm long (skipped where they are absent)',
  () => {
    test.each(SOUND_REFERENCES)('%s', async (name) => {
      expectBounds(await readScaled(name), { ...RECIPE, layerMm: 0.3, firstLayerMm: 0.3, support: 'none' });
    });
  },
);

function expectBounds(mesh: Mesh, recipe: Recipe): void {
  const options = { pieceId: 'piece', recipe, printer: shop.printers[0]!, material: shop.materials[0]! };
  const loops = sliceMesh(mesh, recipe);
  const full = estimatePaths(beadPaths(loops, recipe, polygons), options);
  for (const estimate of [
    quickEstimate(loops, { ...options, polygons }),
    rankEstimate(loops, { ...options, polygons }),
  ]) {
    const bound = DEPTH_BOUNDS[estimate.mode as 'quick' | 'rank'];
    expect(estimate.bound).toEqual(bound);
    expect(off(estimate.massG.value, full.massG.value), `${estimate.mode}: plastic`).toBeLessThanOrEqual(bound.mass);
    expect(off(wallMm(estimate), wallMm(full)), `${estimate.mode}: walls`).toBeLessThanOrEqual(bound.wall);
    expect(off(estimate.durationS.value, full.durationS.value), `${estimate.mode}: time`).toBeLessThanOrEqual(
      bound.time,
    );
    // What belongs together stays together: layers add up to the whole, and the intervals are wider than those of full.
    expect(estimate.layerG.reduce((sum, g) => sum + g, 0)).toBeCloseTo(estimate.massG.value, 6);
    expect(estimate.byKind.reduce((sum, { massG }) => sum + massG, 0)).toBeCloseTo(estimate.massG.value, 6);
    expect(estimate.layerS.length).toBe(full.layerS.length);
    expect(estimate.massG.high! - estimate.massG.value).toBeGreaterThan(0.08 * estimate.partG);
  }
}

const off = (value: number, of: number): number => (of === 0 ? value : Math.abs(value / of - 1));

function wallMm({ byKind }: Estimate): number {
  return byKind.reduce((sum, { kind, pathMm }) => sum + (kind.endsWith('Perimeter') ? pathMm : 0), 0);
}

/** A block as binary STL. */
function plateOf(a: number, b: number, c: number): Uint8Array {
  const faces = [
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ];
  const bytes = new Uint8Array(84 + 50 * 12);
  const view = new DataView(bytes.buffer);
  view.setUint32(80, 12, true);
  faces.forEach((corner, i) => {
    const at = 84 + 50 * Math.floor(i / 3) + 12 + 12 * (i % 3);
    view.setFloat32(at, corner & 1 ? a : 0, true);
    view.setFloat32(at + 4, corner & 2 ? b : 0, true);
    view.setFloat32(at + 8, corner & 4 ? c : 0, true);
  });
  return bytes;
}
