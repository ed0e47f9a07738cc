import { estimatePaths, pathSpeeds } from '@stonehand/estimate';
import type { LayerPaths, Recipe } from '@stonehand/model';
import { BEAD_KINDS } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';

const INFILL = BEAD_KINDS.indexOf('infill');
/** Two straight beads of 100 and 5 mm on the second of two layers, the first layer empty. */
const PATHS: LayerPaths = {
  bottomMm: 0,
  topMm: Float64Array.of(0.2, 0.4),
  layerStart: Uint32Array.of(0, 0, 2),
  pathStart: Uint32Array.of(0, 2, 4),
  kind: Uint8Array.of(INFILL, INFILL),
  closed: Uint8Array.of(0, 0),
  xyMm: Float32Array.of(0, 0, 100, 0, 0, 10, 5, 10),
  widthMm: Float32Array.of(0.4, 0.4),
};
const printer = printerOf();
const material = materialOf();

describe('the speed of a path', () => {
  test('is its length over the seconds of a trapezoid from rest to rest', () => {
    const speeds = pathSpeeds(PATHS, { printer, material });
    // 100 mm/s reached in 0.1 s over 5 mm at 1000 mm/s²: 90 mm at full speed, 1.1 s in all. 5 mm never gets there: 2·√(5/1000) s.
    expect(speeds[0]).toBeCloseTo(100 / 1.1, 3);
    expect(speeds[1]).toBeCloseTo(5 / (2 * Math.sqrt(0.005)), 3);
  });

  test('adds up with the others to the seconds that the estimate gives', () => {
    const speeds = pathSpeeds(PATHS, { printer, material });
    const recipe = { id: 'r', layerMm: 0.2, firstLayerMm: 0.2, beadWidthMm: 0.4, leastLayerS: 0 } as unknown as Recipe;
    const { byKind } = estimatePaths(PATHS, { pieceId: 'p', recipe, printer, material });
    const seconds = 100 / speeds[0]! + 5 / speeds[1]!;
    const stated = byKind.find(({ kind }) => kind === 'infill')!.durationS;
    // The layer change belongs to the layer and is shared out over its kinds by the estimate only when a layer is slowed.
    expect(Math.abs(stated / seconds - 1)).toBeLessThan(1e-4);
  });
});
