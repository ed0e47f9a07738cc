import { hopSeconds, plateSaving, plateSeconds } from '@stonehand/estimate';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { printerOf } from './machines.ts';
import { recipeOf } from './solids.ts';

const HOP_MM = 60;
const layers = fc.array(fc.integer({ min: 10, max: 900 }), { minLength: 1, maxLength: 30 });
// Unslowed seconds of a layer include its layer change of 1 s.
const copies = fc
  .array(layers, { minLength: 1, maxLength: 6 })
  .map((all) => all.map((copy) => copy.map((s) => 1 + s / 10)));
const leastLayerS = fc.integer({ min: 0, max: 60 });
const printer = printerOf();
const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

describe('copies printed together', () => {
  test('equal copies: warm-up + n · Σ unslowed layers less shared layer changes ≤ plate ≤ n · single + added travel', () => {
    fc.assert(
      fc.property(layers, fc.integer({ min: 1, max: 9 }), leastLayerS, (tenths, n, least) => {
        const layerS = tenths.map((s) => 1 + s / 10);
        const recipe = recipeOf({ leastLayerS: least });
        const plate = plateSeconds({ layerS: Array(n).fill(layerS), recipe, printer });
        const single = plateSeconds({ layerS: [layerS], recipe, printer });
        const shared = (n - 1) * layerS.length * printer.layerChangeS;
        const travel = (n - 1) * layerS.length * hopSeconds(printer, HOP_MM);
        expect(plate).toBeGreaterThanOrEqual(printer.warmUpS + n * sum(layerS) - shared - 1e-9);
        expect(plate).toBeLessThanOrEqual(n * single + travel + 1e-9);
        // The least seconds hold for every layer of the plate.
        expect(plate).toBeGreaterThanOrEqual(printer.warmUpS + least * layerS.length - 1e-9);
      }),
      { seed: 11 },
    );
  });

  test('the reasons of the saving add up to it, whatever the copies', () => {
    fc.assert(
      fc.property(copies, leastLayerS, (layerS, least) => {
        const saving = plateSaving({ layerS, recipe: recipeOf({ leastLayerS: least }), printer });
        const { aloneS, togetherS, warmUpS, layerChangesS, waitingS, travelS } = saving;
        expect(aloneS - togetherS).toBeCloseTo(warmUpS + layerChangesS + waitingS - travelS, 6);
        expect(warmUpS).toBe((layerS.length - 1) * printer.warmUpS);
        for (const part of [layerChangesS, travelS]) expect(part).toBeGreaterThanOrEqual(0);
      }),
      { seed: 12 },
    );
  });

  test('three copies of 100 layers of 3 s that must last 8 s: two warm-ups, two layer changes a layer, and all waiting but nothing', () => {
    const layerS = Array(100).fill(3);
    const recipe = recipeOf({ leastLayerS: 8 });
    const saving = plateSaving({ layerS: [layerS, layerS, layerS], recipe, printer, hopMm: HOP_MM });
    const hop = 2 * hopSeconds(printer, HOP_MM);
    expect(saving).toEqual({
      aloneS: 3 * (300 + 800),
      togetherS: expect.closeTo(300 + 100 * Math.max(8, 9 - 2 + hop), 6),
      warmUpS: 600,
      layerChangesS: 200,
      waitingS: expect.closeTo(3 * 500 - 100 * Math.max(0, 8 - (7 + hop)), 6),
      travelS: expect.closeTo(100 * hop, 6),
    });
  });
});
