import { affineOf, rotationOfTurns } from '@stonehand/base';
import { loadSolids, placementAt } from '@stonehand/inspect';
import { massProperties, transformMesh } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { box, column, tube } from './solids.ts';

const solids = await loadSolids();
const turned = (mesh: Mesh, turns: Vec3, at: Vec3): Mesh => transformMesh(mesh, affineOf(rotationOfTurns(turns), at));
const angle = fc.integer({ min: 0, max: 359 });

describe('two solids in place', () => {
  test('boxes side by side overlap in the box that both share, or are as far apart as their nearest corners', () => {
    const place = fc.tuple(...[0, 1, 2].map(() => fc.double({ min: -30, max: 30, noNaN: true })));
    fc.assert(
      fc.property(fc.tuple(angle, angle, angle), place, (turns, by) => {
        const [a, b] = [
          [20, 14, 10],
          [12, 18, 8],
        ] as [Vec3, Vec3];
        const at = by as unknown as Vec3;
        const one = turned(box(a), turns, [0, 0, 0]);
        const other = turned(box(b, at), turns, [0, 0, 0]);
        const { overlapMm3, gapMm } = solids.contact(one, other, 100);
        const common = [0, 1, 2].map((i) => Math.min(a[i]!, at[i]! + b[i]!) - Math.max(0, at[i]!));
        const expected = common.every((d) => d > 0) ? common[0]! * common[1]! * common[2]! : 0;
        // Single precision at 50 mm: 4e-6, times the area of what is shared.
        expect(Math.abs(overlapMm3 - expected)).toBeLessThan(0.05);
        const apart = Math.hypot(...common.map((d) => Math.max(0, -d)));
        if (expected === 0) expect(Math.abs(gapMm - apart)).toBeLessThan(1e-4);
      }),
      { seed: 3, numRuns: 60 },
    );
  });

  test('a ball of facets in a cup of a cylinder: the gap is what the radii leave', () => {
    const ring = tube(10, 14, 8, 96);
    const pin = turned(column(9.7, 20, 96), [0, 0, 0], [0, 0, -6]);
    // Both have their corners at the same angles: the least distance is between flats.
    expect(solids.contact(ring, pin).gapMm).toBeCloseTo(0.3 * Math.cos(Math.PI / 96), 4);
  });
});

describe('a part that moves', () => {
  test('an offset cylinder that turns in a ring: least clearance is wall − reach, wherever it starts', () => {
    // A column of radius 2 whose axis runs on a circle of 5 inside a ring of radius 8: 8 − 5 − 2 = 1 all the way round for smooth walls;
    // a column outside the ring's centre by e more leaves 1 − e on one side only.
    const ring = tube(8, 10, 6, 240);
    const off = 0.4;
    const column2 = turned(column(2, 6, 240), [0, 0, 0], [5 + off, 0, 0]);
    const movement = { kind: 'turning', atMm: [off, 0, 0], axis: [0, 0, 1], from: -90, to: 90 } as const;
    const swept = solids.sweep(ring, column2, movement);
    // Facets of 240 sides differ from the circle by r(1 − cos π/240) < 0.001.
    expect(Math.abs(swept.leastMm - (8 - 5 - off - 2))).toBeLessThan(0.002);
    expect(Math.abs(swept.leastAt)).toBeLessThan(2);
    expect(swept.firstContactAt).toBeUndefined();
  });

  test('a lever that meets a wall says at what angle', () => {
    // A bar 40 × 4 × 4 on the x axis turns about z towards a wall at y = 20: its upper far corner (40, 2) reaches y = 20 at sin(φ + atan(2/40)) = 20/√1604.
    const bar = box([40, 4, 4], [0, -2, 0]);
    const wall = box([60, 5, 10], [0, 20, -3]);
    const swept = solids.sweep(wall, bar, { kind: 'turning', atMm: [0, 0, 0], axis: [0, 0, 1], from: 0, to: 60 });
    const expected = ((Math.asin(20 / Math.hypot(40, 2)) - Math.atan(2 / 40)) * 180) / Math.PI;
    expect(swept.firstContactAt).toBeCloseTo(expected, 2);
    expect(swept.overlapMm3).toBeGreaterThan(100);
  });

  test('a slider that closes a gap of 3 mm touches after 3 mm', () => {
    const swept = solids.sweep(box([10, 10, 10]), box([10, 10, 10], [13, 0, 0]), {
      kind: 'sliding',
      atMm: [0, 0, 0],
      axis: [-1, 0, 0],
      from: 0,
      to: 5,
    });
    expect(swept.firstContactAt).toBeCloseTo(3, 3);
  });

  test('keeps its volume in every place', () => {
    fc.assert(
      fc.property(fc.double({ min: -360, max: 360, noNaN: true }), (value) => {
        const movement = { kind: 'turning', atMm: [3, -2, 7], axis: [1, 2, 2], from: 0, to: 1 } as const;
        const moved = transformMesh(box([3, 4, 5]), placementAt(movement, value));
        expect(massProperties(moved).volumeMm3).toBeCloseTo(60, 8);
      }),
      { numRuns: 30 },
    );
  });
});
