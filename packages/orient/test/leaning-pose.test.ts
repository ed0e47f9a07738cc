import type { Mesh, Ring } from '@stonehand/model';
import { fitHull, leaningPose, shadowHull } from '@stonehand/orient';
import { describe, expect, test } from 'vitest';
import { box, RECIPE } from './shapes.ts';

function volume(
  wide: number,
  deep: number,
  heightMm: number,
): { usable: Ring; keepOut: readonly Ring[]; heightMm: number } {
  return {
    usable: [
      [0, 0],
      [wide, 0],
      [wide, deep],
      [0, deep],
    ],
    keepOut: [],
    heightMm,
  };
}

function fits(mesh: Mesh, wide: number, deep: number, heightMm: number): boolean {
  const bed = volume(wide, deep, heightMm);
  const pose = leaningPose(mesh, bed, RECIPE);
  if (pose === undefined) return false;
  // What is returned fits as it lies, whatever the search thought.
  expect(pose.heightMm).toBeLessThanOrEqual(heightMm + 1e-6);
  expect(fitHull(shadowHull(mesh, pose), bed.usable).fits).toBe(true);
  return true;
}

describe('a plank tipped in the 220 × 250 window of a bed as deep as it is wide (Carver 1957 in the upright plane)', () => {
  // Thickness 5, 20, 50: longest 328.059, 313.213, 283.718.
  test.each([
    [5, 328.059],
    [20, 313.213],
    [50, 283.718],
  ])('%d mm thick: up to %d mm', (thick, longest) => {
    expect(fits(box([0, 0, 0], [longest - 1.5, 100, thick]), 220, 100.001, 250)).toBe(true);
    expect(fits(box([0, 0, 0], [longest + 0.5, 100, thick]), 220, 100.001, 250)).toBe(false);
  });
});

test('a thin rod goes in along the space diagonal: √(220² + 220² + 250²) = 399.124', () => {
  expect(fits(box([0, 0, 0], [390, 1, 1]), 220, 220, 250)).toBe(true);
  expect(fits(box([0, 0, 0], [399.2, 1, 1]), 220, 220, 250)).toBe(false);
});

test('what is larger than the volume in every way has none', () => {
  expect(leaningPose(box([0, 0, 0], [400, 300, 300]), volume(220, 220, 250), RECIPE)).toBeUndefined();
});
