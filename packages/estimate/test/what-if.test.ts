import { estimatePaths, otherLayerMm, whatIfRows } from '@stonehand/estimate';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';
import { block, recipeOf } from './solids.ts';

const polygons = await loadPolygons();
const printer = printerOf();
const material = materialOf();
const recipe = recipeOf();

describe('the block of check values F6, case A, at other recipes', () => {
  const rows = whatIfRows(block(60, 40, 20), polygons, { recipe, printer, material, layersMm: [0.2] });
  const row = (perimeters: number, infillShare: number) =>
    rows.find((candidate) => candidate.perimeters === perimeters && candidate.infillShare === infillShare)!;

  // Masses worked by hand in F6, which allows 2 to 3 % for corners and infill overlap.
  test.each([
    [1, 0.15, 14.5415],
    [2, 0.15, 16.0818],
    [3, 0.15, 17.5965],
    [4, 0.15, 19.0855],
    [2, 0, 8.4163],
    [2, 0.1, 13.5266],
    [2, 0.2, 18.637],
  ])('%i perimeters, infill %f: %f g of PLA within 3 %%', (perimeters, infillShare, massG) => {
    expect(Math.abs(row(perimeters, infillShare).massG.value / massG - 1)).toBeLessThan(0.03);
  });

  test('a row is what an estimate by that recipe says, to the last digit', () => {
    const used = recipeOf({ perimeters: 3, infillShare: 0.4 });
    const paths = beadPaths(sliceMesh(block(60, 40, 20), used), used, polygons);
    const alone = estimatePaths(paths, { pieceId: '', recipe: used, printer, material });
    const { massG, durationS, byKind, partG } = row(3, 0.4);
    expect({ massG, durationS, byKind, partG }).toEqual({
      massG: alone.massG,
      durationS: alone.durationS,
      byKind: alone.byKind,
      partG: alone.partG,
    });
  });

  test('a roof over nothing has to span the whole core: it closes over infill only', () => {
    // The core of a 60 × 40 block behind two perimeters is 38.37 mm wide; lines at 15 % lie 2.7 mm apart.
    expect(row(2, 0).roofSpanMm).toBeGreaterThan(38.37 - 0.5);
    expect(row(2, 0).roofSpanMm).toBeLessThanOrEqual(38.38);
    expect(row(2, 0)).toMatchObject({ roofsClose: false });
    expect(row(2, 0).roofAtMm).toBeCloseTo(20 - 0.7, 6);
    expect(row(2, 0.15)).toMatchObject({ roofsClose: true });
    expect(row(2, 0.15).roofSpanMm).toBeCloseTo(0.4070796 / 0.15 - 0.45, 6);
  });

  test('a narrow block closes without infill', () => {
    const [narrow] = whatIfRows(block(60, 9, 6), polygons, {
      recipe,
      printer,
      material,
      layersMm: [0.2],
      perimeters: [2],
      infillShares: [0],
    });
    expect(narrow).toMatchObject({ roofsClose: true });
    expect(narrow.roofSpanMm).toBeLessThan(9 - 2 * 0.814);
  });
});

test('the other layer height is the next usual one that the nozzle allows, and solid layers keep their thickness', () => {
  expect(otherLayerMm(recipe, printer)).toBe(0.3);
  expect(otherLayerMm(recipeOf({ layerMm: 0.15 }), printer)).toBe(0.2);
  expect(otherLayerMm(recipeOf({ layerMm: 0.3 }), printer)).toBe(0.2);
  const rows = whatIfRows(block(12, 12, 3), polygons, {
    recipe,
    printer,
    material,
    perimeters: [2],
    infillShares: [0.15],
  });
  expect(rows.map(({ layerMm, roofLayers, floorLayers }) => [layerMm, roofLayers, floorLayers])).toEqual([
    [0.2, 4, 4],
    [0.3, 3, 3],
  ]);
});
