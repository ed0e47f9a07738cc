import { estimatePaths, sharesOf, trialPrints } from '@stonehand/estimate';
import { beadPaths, layerAreaMm2, loadPolygons, sliceMesh } from '@stonehand/slice';
import { expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';
import { recipeOf } from './solids.ts';

const polygons = await loadPolygons();
const printed = trialPrints(recipeOf({ perimeters: 4, brimMm: 5, support: 'none' })).map((print) => {
  const loops = sliceMesh(print.mesh, print.recipe);
  const estimate = estimatePaths(beadPaths(loops, print.recipe, polygons), {
    pieceId: print.id,
    recipe: print.recipe,
    printer: printerOf({ speedMmS: { ...printerOf().speedMmS, outerPerimeter: 35, innerPerimeter: 50 } }),
    material: materialOf(),
  });
  return { ...print, loops, estimate, shares: sharesOf(estimate.byKind, 'massG', estimate.massG.value) };
});

test('each of the three is mostly one kind of bead', () => {
  const [walls, fill, support] = printed;
  expect(walls.shares.walls).toBeGreaterThan(0.95);
  expect(fill.shares.fill).toBeGreaterThan(0.75);
  expect(support.shares.support).toBeGreaterThan(0.45);
});

test('together they take about two hours on a plain printer', () => {
  const hours = printed.reduce((sum, { estimate }) => sum + estimate.durationS.value, 0) / 3600;
  expect(hours).toBeGreaterThan(1);
  expect(hours).toBeLessThan(2.25);
});

test('their meshes are closed and face outwards: every layer has an area and no open chain', () => {
  for (const { loops } of printed) {
    expect(loops.openChains).toBe(0);
    for (let i = 0; i < loops.zMm.length; i++) expect(layerAreaMm2(loops, i)).toBeGreaterThan(100);
  }
});
