import type { Ring } from '@stonehand/model';
import { type NestItem, packPlate } from '@stonehand/nest';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { circle, footprint } from './arbitraries/footprints.ts';
import { printerWith, rectangle } from './arbitraries/printers.ts';
import { plateFaults } from './oracles/polygon-overlap.ts';

const BEDS: readonly Readonly<{ usable: Ring; keepOut: readonly Ring[] }>[] = [
  { usable: rectangle(5, 5, 215, 215), keepOut: [] },
  { usable: circle(120, 96, 125, 125), keepOut: [] },
  { usable: rectangle(0, 0, 180, 120), keepOut: [rectangle(0, 0, 30, 20), circle(12, 20, 120, 80)] },
  // An angular bed: its usable outline is not convex.
  {
    usable: [
      [0, 0],
      [200, 0],
      [200, 90],
      [110, 90],
      [90, 200],
      [0, 200],
    ],
    keepOut: [rectangle(20, 20, 40, 30)],
  },
];

// Few turns keep the 320 plates within seconds; the odd ones have no exact sine.
const TURNS: readonly (readonly number[])[] = [[0], [0, 90, 180, 270], [0, 30, 77, 135], [15, 195]];

function copies(): fc.Arbitrary<NestItem[]> {
  return fc.array(fc.tuple(footprint(), fc.constantFrom(0, 0, 3, 5)), { minLength: 1, maxLength: 9 }).map((all) =>
    all.map(([outline, brimMm], k) => ({
      copyId: `part-${k}#1`,
      footprint: outline,
      heightMm: 20,
      brimMm,
      materialId: 'petg',
      recipeId: 'usual',
      choices: [{ printerId: 'bench', durationS: 3600, massG: 10 }],
    })),
  );
}

// The long form: PLATES=5000 npx vitest run tests/nest-overlap.test.ts (figures in packages/nest/DECISIONS.md).
const RUNS = Number(process.env['PLATES'] ?? 320);

describe('plates checked by polyclip-ts and by segment distances', () => {
  test('nothing overlaps, leaves the usable area, enters a keep-out or stands nearer than its gap, on random plates', () => {
    let laid = 0;
    fc.assert(
      fc.property(
        copies(),
        fc.constantFrom(...BEDS),
        fc.constantFrom(0, 1, 3),
        fc.constantFrom(...TURNS),
        fc.nat(99),
        (items, bed, clearanceMm, turnsDeg, seed) => {
          const printer = printerWith('bench', bed.usable, { keepOut: bed.keepOut });
          const { placed, left } = packPlate(items, printer, { clearanceMm, rounds: 8, seed, turnsDeg });
          laid += placed.length;
          expect(placed.length + left.length).toBe(items.length);
          expect(plateFaults(items, placed, printer, clearanceMm)).toEqual([]);
        },
      ),
      { numRuns: RUNS, seed: 20261125 },
    );
    // The property is empty if nothing is ever laid down.
    expect(laid).toBeGreaterThan(2.8 * RUNS);
  }, 7_200_000);
});
