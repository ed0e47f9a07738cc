import { boundingBox, halfEdgeTwins, massProperties, mergeMeshes } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { supportCauses, supportColumns, supportNeed } from '@stonehand/orient';
import { describe, expect, test } from 'vitest';
import { arch, ball, box, lathe, prism, RECIPE, table, UPRIGHT } from './shapes.ts';

const exactly = { leastGapMm: 0 };

test('the test shapes are closed and face outwards', () => {
  expect(massProperties(table()).volumeMm3).toBeCloseTo(40 * 40 * 5 + 10 * 10 * 30, 6);
  expect(massProperties(arch(8)).volumeMm3).toBeCloseTo(30 * (18 * 25 - 8 * 20), 6);
  expect(massProperties(ball(10, 128, 128)).volumeMm3).toBeCloseTo(4188.79, -1);
});

// Column volumes under the overhang, down to the plate, integrated by hand.
describe('support in closed form', () => {
  test('a table on one column: (1600 − 100)·30, contact 1500', () => {
    const need = supportNeed(table(), UPRIGHT, RECIPE, exactly);
    // The shadow of the column's top is taken off by rays: 3 % of the answer, known to a few cells.
    expect(need.volumeMm3).toBeGreaterThan(45000 * 0.998);
    expect(need.volumeMm3).toBeLessThan(45000 * 1.002);
    expect(need.contactMm2).toBeGreaterThan(1500 * 0.998);
    expect(need.contactMm2).toBeLessThan(1500 * 1.002);
    expect(need.scarMm2).toBe(need.contactMm2);
  });

  test('a ball: π·r³/2 − (2π/3)·r³·(1 − 2^(−3/2)), shadow π·r²/2', () => {
    // 256 sides cut off 1 − sin(2π/256)/(2π/256) = 1.0e-4 of each ring; 256 facets along the meridian cut off 3.8e-5 more.
    const need = supportNeed(ball(10, 256, 256), UPRIGHT, RECIPE, exactly);
    expect(Math.abs(need.volumeMm3 / 216.881714 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(need.contactMm2 / 157.079633 - 1)).toBeLessThan(1e-3);
  });

  test('a lying cylinder, r 10, length 50: column 644.077, shadow 707.107', () => {
    const standing = lathe(
      [
        [0, 0],
        [10, 0],
        [10, 50],
        [0, 50],
      ],
      512,
    );
    // 512 sides: the limit falls between two facets at exactly 45°; inscribed sides lose 2.5e-5.
    const need = supportNeed(standing, [1, 0, 0, 0, 0, -1, 0, 1, 0], RECIPE, exactly);
    expect(Math.abs(need.volumeMm3 / 644.076995 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(need.contactMm2 / 707.106781 - 1)).toBeLessThan(1e-3);
  });

  test('a cone on its tip: none when it leans 18°, (2/3)·π·r²·h when it leans 63°', () => {
    expect(
      supportNeed(
        lathe(
          [
            [0, 0],
            [10, 30],
            [0, 30],
          ],
          256,
        ),
        UPRIGHT,
        RECIPE,
        exactly,
      ).volumeMm3,
    ).toBe(0);
    const flat = supportNeed(
      lathe(
        [
          [0, 0],
          [10, 5],
          [0, 5],
        ],
        256,
      ),
      UPRIGHT,
      RECIPE,
      exactly,
    );
    // Sides of a 256-gon: sin(2π/256)/(2π/256) of the circle's area.
    const sides = Math.sin((2 * Math.PI) / 256) / ((2 * Math.PI) / 256);
    expect(flat.volumeMm3).toBeCloseTo(((2 * Math.PI) / 3) * 100 * 5 * sides, 6);
  });

  test('a face at exactly the limit needs none, and neither does a face on the plate', () => {
    const wedge = prism(
      [
        [0, 0],
        [10, 10],
        [0, 10],
      ],
      0,
      20,
    );
    const onItsEdge = [1, 0, 0, 0, 0, -1, 0, 1, 0];
    const limited = (overhangFromVerticalDeg: number): number =>
      supportNeed(wedge, onItsEdge, { ...RECIPE, overhangFromVerticalDeg }, exactly).volumeMm3;
    expect(limited(45)).toBe(0);
    expect(limited(44.9)).toBeCloseTo(20 * 50, 6);
    expect(supportNeed(box([0, 0, 0], [10, 10, 10]), UPRIGHT, RECIPE, exactly).volumeMm3).toBe(0);
    expect(supportNeed(box([0, 0, 0], [10, 10, 10]), [1, 0, 0, 0, -1, 0, 0, 0, -1], RECIPE).volumeMm3).toBe(0);
  });
});

describe('support in closed form at 0.2 mm layers, within 1 %', () => {
  const lying = [1, 0, 0, 0, 0, -1, 0, 1, 0];
  const close = (value: number, exact: number): void => expect(Math.abs(value / exact - 1)).toBeLessThan(0.01);

  test('a T: both arms of its bar, 2 · 20 · 20 · 40', () => {
    const tee = mergeMeshes([box([20, 0, 0], [30, 20, 40]), box([0, 0, 40], [50, 20, 48])]);
    close(supportNeed(tee, UPRIGHT, RECIPE).volumeMm3, 2 * 20 * 20 * 40);
  });

  test('an arch wider than a bridge: its opening, 30 · 30 · 20', () => {
    close(supportNeed(arch(30), UPRIGHT, RECIPE).volumeMm3, 30 * 30 * 20);
  });

  test('a slab that leans: nothing at 44°, the wedge below it at 46°, h² · tan 46° / 2 · depth', () => {
    const leaning = (deg: number): Mesh => {
      const over = 20 * Math.tan((deg * Math.PI) / 180);
      const outline = [
        [0, 0],
        [30, 0],
        [30 + over, 20],
        [over, 20],
      ] as const;
      return prism(outline, 0, 40);
    };
    expect(supportNeed(leaning(44), lying, RECIPE).volumeMm3).toBe(0);
    close(supportNeed(leaning(46), lying, RECIPE).volumeMm3, (20 * 20 * Math.tan((46 * Math.PI) / 180) * 40) / 2);
  });

  test('a steep hollow dome with a brace across: only the brace, its underside down to the plate', () => {
    const brace = bracedDome();
    const radius = 36 * (1 - 20 / 54);
    const free = 2 * (3 * Math.sqrt(radius ** 2 - 9) + radius ** 2 * Math.asin(3 / radius));
    close(supportNeed(brace, UPRIGHT, RECIPE, { twins: () => halfEdgeTwins(brace) }).volumeMm3, free * 20);
  });
});

describe('what causes the support', () => {
  test('of a dome with a brace it is the brace, where it is and how large, and nothing else', () => {
    const causes = supportCauses(bracedDome(), UPRIGHT, RECIPE);
    expect(causes).toHaveLength(1);
    const [brace] = causes;
    expect(brace!.share).toBeGreaterThan(0.99);
    expect(brace!.level).toBe(true);
    expect(brace!.atHeightMm).toBeCloseTo(20, 6);
    expect(brace!.sizeMm[1]).toBeCloseTo(6, 6);
    expect(brace!.boxMm.min[2]).toBeCloseTo(20, 6);
  });

  test('two shelves at two heights share it by their columns', () => {
    const shelves = mergeMeshes([
      box([0, 0, 0], [5, 20, 60]),
      box([5, 0, 20], [35, 20, 24]),
      box([-30, 0, 50], [0, 20, 54]),
    ]);
    const causes = supportCauses(shelves, UPRIGHT, RECIPE);
    // 30 · 20 · 50 and 30 · 20 · 20: five sevenths and two sevenths.
    expect(causes.map(({ share }) => Math.round(100 * share))).toEqual([71, 29]);
  });
});

test('support in given places only counts what lies there', () => {
  const shelves = mergeMeshes([
    box([0, 0, 0], [5, 20, 60]),
    box([5, 0, 20], [35, 20, 24]),
    box([-30, 0, 50], [0, 20, 54]),
  ]);
  const only = [{ min: [4, -1, 10], max: [36, 21, 30] }] as const;
  const volume = supportNeed(shelves, UPRIGHT, RECIPE, { supportIn: only }).volumeMm3;
  expect(Math.abs(volume / (30 * 20 * 20) - 1)).toBeLessThan(0.005);
});

test('columns drawn for pictures hold the volume that is stated', () => {
  const mesh = arch(30);
  const columns = supportColumns(mesh, UPRIGHT, RECIPE, { cells: 80 })!;
  const { min, max } = boundingBox(columns);
  expect(min[2]).toBe(0);
  expect(max[2]).toBeCloseTo(20, 5);
  // Blocks of half a millimetre: their area is off by one row of cells at most.
  expect((max[0] - min[0]) * (max[1] - min[1])).toBeGreaterThan(29 * 29);
  expect((max[0] - min[0]) * (max[1] - min[1])).toBeLessThan(31 * 31);
  expect(supportColumns(box([0, 0, 0], [9, 9, 9]), UPRIGHT, RECIPE)).toBeUndefined();
});

/** A cone that leans 34°, open below, with a brace of 6 × 4 across it, 20 above the plate. */
function bracedDome(): Mesh {
  const cone = lathe(
    [
      [36, 0],
      [40, 0],
      [0, 60],
      [0, 54],
      [36, 0],
    ],
    256,
  );
  return mergeMeshes([cone, box([-24.5, -3, 20], [24.5, 3, 24])]);
}

test('a column ends on the part below, and marks both ends', () => {
  // A slab over a base: columns of 20 between them, not of 25 to the plate.
  const spool = mergeMeshes([
    box([0, 0, 0], [40, 40, 5]),
    box([18, 18, 5], [22, 22, 25]),
    box([0, 0, 25], [40, 40, 30]),
  ]);
  const need = supportNeed(spool, UPRIGHT, RECIPE);
  expect(Math.abs(need.volumeMm3 / ((1600 - 16) * 20) - 1)).toBeLessThan(3e-3);
  expect(Math.abs(need.contactMm2 / (1600 - 16) - 1)).toBeLessThan(3e-3);
  expect(Math.abs(need.scarMm2 / (2 * (1600 - 16)) - 1)).toBeLessThan(5e-3);
});

test('a face inside another body needs nothing', () => {
  const nested = mergeMeshes([box([0, 0, 0], [40, 40, 40]), box([10, 10, 10], [30, 30, 50])]);
  const need = supportNeed(nested, UPRIGHT, RECIPE);
  expect(need.volumeMm3).toBeLessThan(0.003 * 400 * 10);
});

describe('bridges', () => {
  const volume = (span: number, bridgeMm: number): number => {
    const mesh = arch(span);
    return supportNeed(mesh, UPRIGHT, { ...RECIPE, bridgeMm }, { twins: () => halfEdgeTwins(mesh) }).volumeMm3;
  };

  test('a ceiling between two walls needs none up to the bridge limit, and all of it beyond', () => {
    expect(volume(8, 10)).toBe(0);
    expect(volume(10, 10)).toBe(0);
    expect(volume(12, 10)).toBeCloseTo(12 * 30 * 20, 6);
    expect(volume(8, 0)).toBeCloseTo(8 * 30 * 20, 6);
  });

  test('a ledge held on one side is none, however short', () => {
    const mesh = table();
    const need = supportNeed(mesh, UPRIGHT, { ...RECIPE, bridgeMm: 100 }, { twins: () => halfEdgeTwins(mesh) });
    expect(need.contactMm2).toBeGreaterThan(1490);
  });
});

test('coarse rays stay within 1 % of fine ones on a part with holes and shelves', () => {
  const shelf = mergeMeshes([
    box([0, 0, 0], [60, 40, 3]),
    box([0, 0, 3], [3, 40, 60]),
    box([3, 0, 25], [48.3, 40, 28]),
    box([3, 5.1, 50], [33.7, 31.9, 53]),
  ]);
  const exact = (45.3 * 40 - 0) * (25 - 3) + 30.7 * 26.8 * (50 - 28);
  const need = supportNeed(shelf, UPRIGHT, RECIPE);
  expect(Math.abs(need.volumeMm3 / exact - 1)).toBeLessThan(0.01);
  expect(Math.abs(supportNeed(shelf, UPRIGHT, RECIPE, { mostCells: 256 }).volumeMm3 / exact - 1)).toBeLessThan(0.01);
});
