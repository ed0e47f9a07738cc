import type { Mesh } from '@stonehand/model';
import { type BeadPathOptions, loadPolygons } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { ball, block, merged, turned } from './shapes.ts';
import { pathsOf, recipeOf, volumes } from './volumes.ts';

const polygons = await loadPolygons();

/** Columns as the analytic cases take them: touching the part on all sides, no dense layers. */
const BARE: BeadPathOptions = { supportGapLayers: 0, contactLayers: 0, supportSideGapMm: 0 };

/** Volume of the columns themselves: what was laid down, over the share. */
function columns(
  mesh: Mesh,
  options: BeadPathOptions = BARE,
  layerMm = 0.2,
): { supportMm3: number; contactMm3: number } {
  const recipe = recipeOf({ support: 'auto', supportShare: 0.15, layerMm, firstLayerMm: layerMm });
  const sums = volumes(pathsOf(mesh, recipe, polygons, options));
  return { supportMm3: sums.support / 0.15, contactMm3: sums.contact };
}

const within = (value: number, expected: number, share: number): void => {
  expect(Math.abs(value - expected), `${value} against ${expected}`).toBeLessThanOrEqual(share * expected);
};

// Tolerances: a layer's outline is its middle height, so the last ring of a slope (half a layer high) is missing or double;
// with these sizes that is up to 3 % of the columns.
describe('support of closed forms (check values F7)', () => {
  const table = merged(block(10, 10, 30, 15, 15, 0), block(40, 40, 5, 0, 0, 30));

  test('a table 40 × 40 on a 10 × 10 column stands on 45000 mm³', () => {
    within(columns(table).supportMm3, 45000, 0.02);
  });

  test('with a gap of one layer 15 % of it is 6705 mm³', () => {
    const { supportMm3 } = columns(table, { ...BARE, supportGapLayers: 1 });
    within(0.15 * supportMm3, 6705, 0.02);
  });

  test('contact layers are dense, lie under the gap and cover what hangs', () => {
    const { supportMm3, contactMm3 } = columns(table, {
      ...BARE,
      supportGapLayers: 1,
      contactLayers: 2,
      contactShare: 0.75,
    });
    within(contactMm3, 1500 * 0.4 * 0.75, 0.03);
    within(supportMm3, 1500 * 29.4, 0.02);
  });

  test('a side gap of 0.3 mm takes a frame of 41.2 × 0.3 mm² off the columns', () => {
    const { supportMm3 } = columns(table, { ...BARE, supportSideGapMm: 0.3 });
    within(supportMm3, (1500 - 40 * 0.3 - Math.PI * 0.09) * 30, 0.02);
  });

  test('a ball of radius 10 on the plate stands on 216.88 mm³', () => {
    within(columns(ball(10, 180, 360)).supportMm3, 216.881714, 0.03);
  });

  test('a lying cylinder of radius 10 and length 50 stands on 644.08 mm³', () => {
    const across = turned(
      [
        [0, 0],
        [10, 0],
        [10, 50],
        [0, 50],
      ],
      720,
    );
    // The axis along z goes to x: (x, y, z) → (z, x, y).
    const p = across.positions;
    const positions = Float64Array.from({ length: p.length }, (_, i) => p[i - (i % 3) + [2, 0, 1][i % 3]]);
    within(columns({ ...across, positions }).supportMm3, 644.07697, 0.03);
  });

  test('a cone on its tip needs none when it leans 18°, and 1047.2 mm³ when it leans 63°', () => {
    expect(
      columns(
        turned(
          [
            [0, 0],
            [10, 30],
            [0, 30],
          ],
          180,
        ),
      ).supportMm3,
    ).toBe(0);
    within(
      columns(
        turned(
          [
            [0, 0],
            [10, 5],
            [0, 5],
          ],
          180,
        ),
        BARE,
        0.1,
      ).supportMm3,
      1047.197551,
      0.06,
    );
  });

  test('a face of exactly 45° and a bottom on the plate need none', () => {
    const flared = turned(
      [
        [0, 0],
        [5, 0],
        [15, 10],
        [0, 10],
      ],
      90,
    );
    expect(columns(flared).supportMm3).toBe(0);
    expect(columns(block(30, 30, 5)).supportMm3).toBe(0);
  });

  test('a bridge of 8 mm held at both ends needs none, one of 12 mm does', () => {
    const portal = (span: number): Mesh =>
      merged(block(30, 3, 5), block(30, 3, 5, 0, 3 + span, 0), block(30, 6 + span, 3, 0, 0, 5));
    expect(columns(portal(8)).supportMm3).toBe(0);
    within(columns(portal(12)).supportMm3, 30 * 12 * 5, 0.03);
  });

  test('columns stop on the part below', () => {
    // A plate of 20 × 20 × 2, a post on it, and a roof at z = 12: columns from 2 to 12 only.
    const stack = merged(block(20, 20, 2), block(4, 20, 10, 0, 0, 2), block(20, 20, 2, 0, 0, 12));
    within(columns(stack).supportMm3, 16 * 20 * 10, 0.03);
  });
});
