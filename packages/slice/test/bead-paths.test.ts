import type { Mesh } from '@stonehand/model';
import { BEAD_KINDS, beadAreaMm2, beadSpacingMm, beadWidthMm, loadPolygons } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { block, insideOut, merged, turned } from './shapes.ts';
import { pathLength, pathsOf, recipeOf, total, volumes } from './volumes.ts';

const polygons = await loadPolygons();
const within = (value: number, expected: number, share: number): void => {
  expect(Math.abs(value - expected), `${value} against ${expected}`).toBeLessThanOrEqual(share * expected);
};

describe('cross-section of a bead (check values F3; the same formula is given by a hot-end maker)', () => {
  test.each([
    [0.4, 0.2, 0.0714159, 0.35708],
    [0.45, 0.2, 0.0814159, 0.40708],
    [0.45, 0.3, 0.1156858, 0.385619],
    [0.6, 0.3, 0.1606858, 0.535619],
    [0.8, 0.4, 0.2856637, 0.714159],
  ])('%f × %f mm: %f mm², spacing %f mm', (width, height, area, spacing) => {
    expect(beadAreaMm2(width, height)).toBeCloseTo(area, 6);
    expect(beadSpacingMm(width, height)).toBeCloseTo(spacing, 5);
    expect(beadWidthMm(area, height)).toBeCloseTo(width, 5);
  });

  test('a thin bead is round and its width comes back', () => {
    expect(beadWidthMm(beadAreaMm2(0.15, 0.2), 0.2)).toBeCloseTo(0.15, 12);
  });
});

describe('mass of printed boxes worked by hand (check values F6), by kind of bead within 3 %', () => {
  test('case A: solid block 60 × 40 × 20 with 2 perimeters and 15 %', () => {
    const paths = pathsOf(block(60, 40, 20), recipeOf(), polygons);
    // The hand calculation counts the perimeters of the solid layers as solid.
    const middle = volumes(paths, 4, 96);
    const ends = total(volumes(paths, 0, 4)) + total(volumes(paths, 96, 100));
    within(middle.outerPerimeter + middle.innerPerimeter, 2947.32, 0.03);
    within(middle.infill, 6181.902, 0.03);
    within(ends, 3840, 0.03);
    within(total(volumes(paths)), 12969.222, 0.03);
    expect(middle.solid).toBe(0);
  });

  test.each([
    [1, 0.15, 14.5415],
    [3, 0.15, 17.5965],
    [4, 0.15, 19.0855],
    [2, 0, 8.4163],
    [2, 0.1, 13.5266],
    [2, 0.3, 23.7474],
  ])('case A with %i perimeters and share %f: %f g of PLA', (perimeters, infillShare, massG) => {
    const paths = pathsOf(block(60, 40, 20), recipeOf({ perimeters, infillShare }), polygons);
    within((total(volumes(paths)) * 1.24) / 1000, massG, 0.03);
  });

  test.each(['lines', 'grid', 'gyroid'] as const)('%s fill the stated share', (infillPattern) => {
    const paths = pathsOf(block(60, 40, 20), recipeOf({ infillPattern }), polygons);
    within(volumes(paths).infill, 6181.902, 0.03);
  });

  test('case B: open-top box 100 × 80 × 50, walls and floor 8, 3 perimeters, 5 + 5 solid layers, 20 %', () => {
    const box = merged(block(100, 80, 8), openTop());
    const recipe = recipeOf({ perimeters: 3, roofLayers: 5, floorLayers: 5, infillShare: 0.2 });
    const paths = pathsOf(box, recipe, polygons);
    const layers = (from: number, to: number) => volumes(paths, from / 0.2, to / 0.2);
    within(total(layers(0, 1)), 8000, 0.03);
    within(total(layers(1, 7)), 11681.665, 0.03);
    within(total(layers(7, 8)), 6247.744, 0.03);
    within(layers(7, 8).solid, 5376, 0.03);
    within(total(layers(8, 49)), 47793.953, 0.03);
    const upper = layers(8, 49);
    within(upper.outerPerimeter + upper.innerPerimeter, (433.6803 + 367.4524) * 41, 0.03);
    within(upper.infill, 0.2 * 1822.8673 * 41, 0.03);
    within(total(layers(49, 50)), 2624, 0.03);
    within(total(volumes(paths)), 76347.363, 0.03);
  });

  test('case C: standing tube 40/30 × 100, ABS, 3 perimeters, 5 + 5 solid layers, 15 %', () => {
    const tube = turned(
      [
        [15, 0],
        [20, 0],
        [20, 100],
        [15, 100],
      ],
      360,
    );
    const recipe = recipeOf({ perimeters: 3, roofLayers: 5, floorLayers: 5 });
    const paths = pathsOf(tube, recipe, polygons);
    const middle = volumes(paths, 5, 495);
    within(middle.outerPerimeter + middle.innerPerimeter, (148.78 + 119.7845) * 98, 0.03);
    within(middle.infill, 0.15 * 281.2143 * 98, 0.03);
    within(total(volumes(paths)), 31552.724, 0.03);
  });

  /** The four walls above the floor of case B, as one ring-shaped block from z = 8 to 50, sharing the floor's outline. */
  function openTop(): Mesh {
    return merged(block(100, 80, 42, 0, 0, 8), insideOut(block(84, 64, 42.00001, 8, 8, 7.99999)));
  }
});

describe('solid fill conserves area × height', () => {
  test('a solid 20 mm cube of PLA weighs 9.92 g', () => {
    const paths = pathsOf(block(20, 20, 20), recipeOf({ infillShare: 1, perimeters: 3 }), polygons);
    within((total(volumes(paths)) * 1.24) / 1000, 9.92, 0.01);
  });

  test('walls of any thickness from one bead to twelve weigh what they are', () => {
    for (let thickness = 0.4; thickness < 5; thickness += 0.37) {
      const recipe = recipeOf({ infillShare: 1, perimeters: 3 });
      const paths = pathsOf(block(60, thickness, 2), recipe, polygons);
      within(total(volumes(paths)), 60 * thickness * 2, 0.05);
    }
  });

  test('a wall thinner than two beads is one bead as broad as the wall', () => {
    const paths = pathsOf(block(40, 0.5, 1), recipeOf(), polygons);
    const beads = Array.from(paths.kind).map((kind, p) => ({ kind: BEAD_KINDS[kind], p }));
    const laid = beads.filter(({ kind }) => kind !== 'travel');
    expect(laid.length).toBe(5);
    // 0.5 mm of wall needs a section of 0.5 × 0.2 mm² along the 40 mm less the round ends.
    for (const { p } of laid) expect(pathLength(paths, p)).toBeGreaterThan(38);
    within(total(volumes(paths)), 40 * 0.5, 0.03);
  });
});

describe('bridges and order', () => {
  test('a roof between two walls is bridged the short way, a shelf held on one side is not', () => {
    const portal = merged(block(30, 3, 5), block(30, 3, 5, 0, 11, 0), block(30, 14, 3, 0, 0, 5));
    const bridged = volumes(pathsOf(portal, recipeOf(), polygons));
    expect(bridged.bridge).toBeGreaterThan(0.2 * 20 * 7);
    const shelf = merged(block(10, 10, 5), block(30, 10, 3, 0, 0, 5));
    expect(volumes(pathsOf(shelf, recipeOf(), polygons)).bridge).toBe(0);
  });

  test('every path begins where the one before it ended, travel included', () => {
    const parts = merged(block(10, 10, 2), block(8, 8, 2, 20, 5, 0), block(3, 3, 2, 5, 20, 0));
    const paths = pathsOf(parts, recipeOf({ brimMm: 3 }), polygons);
    let x = paths.xyMm[0];
    let y = paths.xyMm[1];
    for (let p = 0; p < paths.kind.length; p++) {
      const from = 2 * paths.pathStart[p];
      const last = paths.closed[p] ? from : 2 * paths.pathStart[p + 1] - 2;
      expect(Math.hypot(paths.xyMm[from] - x, paths.xyMm[from + 1] - y)).toBeLessThan(0.021);
      x = paths.xyMm[last];
      y = paths.xyMm[last + 1];
    }
  });

  test('the brim fills its width around the first layer only', () => {
    const paths = pathsOf(block(20, 20, 2), recipeOf({ brimMm: 4.07 }), polygons);
    // Four sides and four quarter rounds.
    within(volumes(paths).brim, (4 * 20 * 4.07 + Math.PI * 4.07 ** 2) * 0.2, 0.02);
    expect(volumes(paths, 1).brim).toBe(0);
  });

  test('the same input gives the same paths', () => {
    const paths = () =>
      pathsOf(
        turned(
          [
            [6, 0],
            [9, 0],
            [7, 12],
          ],
          90,
        ),
        recipeOf({ infillPattern: 'gyroid' }),
        polygons,
      );
    expect(paths()).toEqual(paths());
  });
});
