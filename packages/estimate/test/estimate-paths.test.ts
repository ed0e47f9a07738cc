import { estimatePaths, hopSeconds, moveSeconds, PRIORS, plateSeconds } from '@stonehand/estimate';
import type { Estimate, LayerPaths, Mesh, Recipe } from '@stonehand/model';
import { BEAD_KINDS, beadAreaMm2, beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';

const polygons = await loadPolygons();

const recipe: Recipe = {
  id: 'plain',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'lines',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 0,
};

function block(a: number, b: number, c: number): Mesh {
  const positions = Float64Array.from(
    Array.from({ length: 8 }, (_, i) => [i & 1 ? a : 0, i & 2 ? b : 0, i & 4 ? c : 0]).flat(),
  );
  const triangles = Uint32Array.from([
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ]);
  return { positions, triangles, originMm: [0, 0, 0] };
}

const estimateOf = (
  mesh: Mesh,
  changes: Partial<Recipe> = {},
  printer = printerOf(),
  material = materialOf(),
): Estimate => {
  const used = { ...recipe, ...changes };
  const paths = beadPaths(sliceMesh(mesh, used), used, polygons);
  return estimatePaths(paths, { pieceId: 'block', recipe: used, printer, material });
};

/** One layer from z = 0 to 0.2 (or more, stacked) with the paths given. */
function handMade(
  layers: readonly (readonly { kind: string; closed: boolean; width: number; xy: number[] }[])[],
): LayerPaths {
  const all = layers.flat();
  const pathStart = [0];
  for (const path of all) pathStart.push(pathStart[pathStart.length - 1] + path.xy.length / 2);
  const layerStart = [0];
  for (const layer of layers) layerStart.push(layerStart[layerStart.length - 1] + layer.length);
  return {
    bottomMm: 0,
    topMm: Float64Array.from(layers, (_, i) => 0.2 * (i + 1)),
    layerStart: Uint32Array.from(layerStart),
    pathStart: Uint32Array.from(pathStart),
    kind: Uint8Array.from(all, (path) => BEAD_KINDS.indexOf(path.kind as never)),
    closed: Uint8Array.from(all, (path) => Number(path.closed)),
    xyMm: Float32Array.from(all.flatMap((path) => path.xy)),
    widthMm: Float32Array.from(all, (path) => path.width),
  };
}

describe('mass', () => {
  test('a solid 20 mm cube of PLA weighs 9.92 g within 1 % and its centre is its middle', () => {
    const estimate = estimateOf(block(20, 20, 20), { infillShare: 1 });
    expect(Math.abs(estimate.massG.value - 9.92)).toBeLessThan(0.0992);
    for (const axis of [0, 1, 2]) expect(estimate.centreMm[axis]).toBeCloseTo(10, 1);
    // Cube: m·a²/6 about each axis.
    const cube = (estimate.partG * 400) / 6;
    for (const axis of [0, 1, 2]) expect(Math.abs(estimate.inertiaGMm2[axis] / cube - 1)).toBeLessThan(0.01);
    for (const axis of [3, 4, 5]) expect(Math.abs(estimate.inertiaGMm2[axis]) / cube).toBeLessThan(0.01);
  });

  test('a metre of bead 0.45 × 0.2 is 81.416 mm³, 0.100956 g of PLA and 33.849 mm of filament (check values F3)', () => {
    const paths = handMade([[{ kind: 'solid', closed: false, width: 0.45, xy: [0, 0, 1000, 0] }]]);
    const estimate = estimatePaths(paths, { pieceId: 'bead', recipe, printer: printerOf(), material: materialOf() });
    expect(estimate.byKind[0].volumeMm3).toBeCloseTo(81.416, 3);
    expect(estimate.massG.value).toBeCloseTo(0.100956, 6);
    expect(estimate.filamentMm).toBeCloseTo(33.8488, 4);
    expect(estimate.price).toBeCloseTo(0.0020191, 7);
  });

  test('grams by layer and by kind add up, and the metres per kilogram are those of the kind (check values F4)', () => {
    const estimate = estimateOf(block(30, 20, 6), { brimMm: 4 });
    const byKind = estimate.byKind.reduce((sum, amount) => sum + amount.massG, 0);
    expect(estimate.layerG.reduce((sum, g) => sum + g, 0)).toBeCloseTo(estimate.massG.value, 9);
    expect(byKind).toBeCloseTo(estimate.massG.value, 9);
    expect(estimate.filamentMm / estimate.massG.value).toBeCloseTo(335.284, 2);
    const brim = estimate.byKind.find((amount) => amount.kind === 'brim')?.massG ?? 0;
    expect(estimate.partG).toBeCloseTo(estimate.massG.value - brim, 9);
  });

  test('the interval is wider where support is a larger part', () => {
    const estimate = estimateOf(block(20, 20, 4));
    expect(estimate.massG.low).toBeCloseTo(estimate.massG.value * (1 - PRIORS.mass.low), 9);
    expect(estimate.durationS.high).toBeCloseTo(estimate.durationS.value * 1.3, 6);
  });
});

describe('time', () => {
  const square = { kind: 'outerPerimeter', closed: true, width: 0.45, xy: [0, 0, 50, 0, 50, 50, 0, 50] };
  const of = (paths: LayerPaths, printer = printerOf(), used = recipe, material = materialOf()): Estimate =>
    estimatePaths(paths, { pieceId: 'p', recipe: used, printer, material });

  test('a square of 50 with corners at 10 mm/s takes 2.1715 s beside layer change and warm-up (check values F8)', () => {
    const fast = printerOf({ firstLayerMmS: 100, accelMmS2: { ...printerOf().accelMmS2, outerPerimeter: 2000 } });
    const estimate = of(handMade([[square]]), fast);
    expect(estimate.layerS[0]).toBeCloseTo(2.1715 + 1, 4);
    expect(estimate.durationS.value).toBeCloseTo(300 + 2.1715 + 1, 4);
  });

  test('the first layer keeps to its own speed, travel does not', () => {
    const travel = { kind: 'travel', closed: false, width: 0, xy: [0, 0, 100, 0] };
    const estimate = of(handMade([[square, travel], [square]]));
    expect(estimate.layerS[0] - estimate.layerS[1]).toBeGreaterThan(200 / 20 - 200 / 100);
    const travelS = estimate.byKind.find((amount) => amount.kind === 'travel')?.durationS ?? 0;
    expect(travelS).toBeCloseTo(1.1 + 0.5, 9);
  });

  test('a travel shorter than 1.5 mm does not pull back', () => {
    const travel = { kind: 'travel', closed: false, width: 0, xy: [0, 0, 1.4, 0] };
    expect(of(handMade([[travel]])).layerS[0]).toBeCloseTo(1 + moveSeconds(1.4, 0, 0, 100, 1000), 6);
  });

  test('beads of one kind that continue each other are one motion', () => {
    const bead = (from: number, to: number) => ({
      kind: 'innerPerimeter',
      closed: false,
      width: 0.4,
      xy: [from, 0, to, 0],
    });
    const parts = of(handMade([[], [bead(0, 20), bead(20, 30), bead(30, 100)]]));
    expect(parts.layerS[1]).toBeCloseTo(1 + 1.1, 5);
    expect(of(handMade([[], [bead(0, 20), bead(21, 100)]])).layerS[1]).toBeGreaterThan(1 + 1.15);
  });

  test('flow of the weaker of printer and material limits the speed', () => {
    const line = { kind: 'solid', closed: false, width: 0.45, xy: [0, 0, 1000, 0] };
    const paths = handMade([[], [line]]);
    const estimate = of(paths, printerOf(), recipe, materialOf({ flowMm3S: 2.5 }));
    expect(estimate.peakFlowMm3S).toBeCloseTo(2.5, 6);
    expect(estimate.layerS[1]).toBeCloseTo(1 + moveSeconds(1000, 0, 0, 2.5 / beadAreaMm2(0.45, 0.2), 1000), 4);
  });

  test('least seconds per layer: 200 mm of path in 8 s', () => {
    const slow = { ...recipe, leastLayerS: 8 };
    const estimate = of(handMade([[square], [square]]), printerOf({ firstLayerMmS: 100 }), slow);
    expect(estimate.durationS.value).toBeCloseTo(300 + 16, 9);
    expect(estimate.layerS[1]).toBeLessThan(4);
  });

  test('two copies share warm-up and layer changes, and may need no slowing', () => {
    const slow = { ...recipe, leastLayerS: 5 };
    const printer = printerOf({ firstLayerMmS: 100 });
    const { layerS } = of(handMade([[square], [square], [square]]), printer, slow);
    const one = plateSeconds({ layerS: [layerS], recipe: slow, printer });
    const two = plateSeconds({ layerS: [layerS, layerS.slice(0, 2)], recipe: slow, printer });
    expect(one).toBeCloseTo(300 + 15, 9);
    const pair = 2 * layerS[0] - 1 + hopSeconds(printer, 60);
    expect(pair).toBeGreaterThan(5);
    expect(two).toBeCloseTo(300 + 2 * pair + 5, 9);
    expect(plateSeconds({ layerS: [], recipe, printer })).toBe(0);
  });

  test('one copy on a plate takes what its estimate says', () => {
    const estimate = estimateOf(block(12, 12, 5), { leastLayerS: 6 });
    const seconds = plateSeconds({
      layerS: [estimate.layerS],
      recipe: { ...recipe, leastLayerS: 6 },
      printer: printerOf(),
    });
    expect(seconds).toBeCloseTo(estimate.durationS.value, 6);
  });
});
