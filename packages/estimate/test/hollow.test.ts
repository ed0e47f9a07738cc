import { hollowOffer, hollowSaving } from '@stonehand/estimate';
import { loadPolygons } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';
import { block, recipeOf } from './solids.ts';

const polygons = await loadPolygons();
const offerOf = (size: readonly [number, number, number], wallMm: number, changes: Parameters<typeof recipeOf>[0]) =>
  hollowOffer(block(...size), polygons, {
    recipe: recipeOf(changes),
    printer: printerOf(),
    material: materialOf({ densityGPerCm3: 1 }),
    wallMm,
  });

describe('a solid block 60 × 40 × 30 hollowed behind 3 mm', () => {
  const offer = offerOf([60, 40, 30], 3, { infillShare: 1 });

  test('the inner offset is the block less the wall on all sides, in height to a group of layers', () => {
    const { cavityMm3 } = offer.offset;
    // Layers go in groups of at most a quarter wall: the wall is never thinner, and at most that much thicker at either end.
    expect(cavityMm3).toBeLessThanOrEqual(54 * 34 * 24 + 1e-3);
    expect(cavityMm3).toBeGreaterThanOrEqual(54 * 34 * (24 - 2 * 0.75));
  });

  test('grams saved are those of the cavity less the support shut in (1 g/cm³, solid all through)', () => {
    for (const print of [offer.offset, offer.selfClosing]) {
      const { massG, shutInG } = hollowSaving(offer, print);
      expect(Math.abs(massG + shutInG - print.cavityMm3 / 1000)).toBeLessThan(0.01 * (print.cavityMm3 / 1000));
    }
  });

  test('the ceiling of the plain offset needs support; under a gable none is needed, for less room', () => {
    expect(hollowSaving(offer, offer.offset).shutInG).toBeGreaterThan(1);
    expect(hollowSaving(offer, offer.selfClosing).shutInG).toBe(0);
    // A hipped gable at 44° over 54 × 34, cut off where 10 mm remain: (34 − 10)/2 of run make 12.4 mm of rise.
    const rise = 12 / Math.tan((44 * Math.PI) / 180);
    const hip = (rise / 3) * (54 * 34 + 30 * 10 + Math.sqrt(54 * 34 * 30 * 10));
    const expected = 54 * 34 * (24 - rise) + hip;
    expect(Math.abs(offer.selfClosing.cavityMm3 / expected - 1)).toBeLessThan(0.06);
  });
});

test('thin shells around sparse infill save nothing, and the offer says so', () => {
  const offer = offerOf([40, 40, 12], 4, { infillShare: 0.1, perimeters: 3 });
  expect(offer.offset.cavityMm3).toBeGreaterThan(0);
  expect(hollowSaving(offer, offer.selfClosing).massG).toBeLessThan(0);
});

test('a part thinner than two walls has nothing to hollow', () => {
  const offer = offerOf([40, 40, 5], 3, {});
  expect(offer.offset).toEqual(offer.whole);
  expect(hollowSaving(offer, offer.selfClosing)).toEqual({ massG: 0, durationS: 0, shutInG: 0 });
});
