import { seededRandom } from '@stonehand/base';
import { type NestItem, packPlates, runCost } from '@stonehand/nest';
import { describe, expect, test } from 'vitest';
import { circle } from '../../../tests/arbitraries/footprints.ts';
import { printerWith, rectangle } from '../../../tests/arbitraries/printers.ts';
import { plateFaults } from '../../../tests/oracles/polygon-overlap.ts';

const HOUR = 3600;
const bench = printerWith('bench', rectangle(5, 5, 215, 215));
const loft = printerWith('loft', rectangle(5, 5, 251, 251));
const PRINTERS = [bench, loft];

function copy(copyId: string, size: number, hours: number, rest: Partial<NestItem> = {}): NestItem {
  return {
    copyId,
    footprint: [rectangle(0, 0, size, size)],
    heightMm: 40,
    brimMm: 0,
    materialId: 'petg',
    recipeId: 'usual',
    choices: PRINTERS.map(({ id }) => ({ printerId: id, durationS: hours * HOUR, massG: 12 * hours })),
    turnsDeg: [0, 90],
    ...rest,
  };
}

const plateOf = (plates: ReturnType<typeof packPlates>['plates'], copyId: string): string =>
  plates.find((plate) => plate.copyIds.includes(copyId))!.id;

describe('what a run costs with its failures', () => {
  test('expected hours and grams agree with 40,000 runs thrown one by one', () => {
    const random = seededRandom(5);
    const risk = { failPerStart: 0.1, failPerHour: 0.02, failPerPiece: 0.01 };
    const run = { durationS: 10 * HOUR, massG: 100, copies: 6, startS: HOUR };
    let seconds = 0;
    let grams = 0;
    const runs = 40_000;
    for (let k = 0; k < runs; k++) {
      for (;;) {
        seconds += run.startS;
        if (random.next() < risk.failPerStart) continue;
        seconds += run.durationS;
        grams += run.massG;
        const comesLoose = Array.from({ length: run.copies }, () => random.next() < risk.failPerPiece).includes(true);
        // Time to the first failure is exponential.
        if (!comesLoose && -Math.log(1 - random.next()) / risk.failPerHour > 10) break;
      }
    }
    const cost = runCost(run, risk);
    // Tries are geometric with success 0.77: the mean of 40,000 strays by 0.3 %, four of those are allowed.
    expect(Math.abs(seconds / runs / cost.expectedS - 1)).toBeLessThan(0.012);
    expect(Math.abs(grams / runs / cost.expectedG - 1)).toBeLessThan(0.012);
    expect(cost.failChance).toBeCloseTo(1 - 0.9 * Math.exp(-0.2) * 0.99 ** 6, 12);
  });
});

describe('the fewest plates', () => {
  const discs = Array.from({ length: 24 }, (_, k) =>
    copy(`disc-${k}#1`, 0, 2, { footprint: [circle(30 + (k % 3) * 4, 40)], turnsDeg: [0] }),
  );
  const few = packPlates(discs, PRINTERS, { aim: 'fewest', rounds: 60 });
  const sure = packPlates(discs, PRINTERS, { rounds: 60 });

  test('are no more than the surest ones, no fewer than the bound, and without a fault', () => {
    const search = few.searches.find(({ what }) => what === 'plates')!;
    expect(few.plates.length).toBeLessThan(sure.plates.length);
    expect(few.plates.length).toBeGreaterThanOrEqual(search.bound!);
    expect(few.plates.flatMap(({ copyIds }) => copyIds).sort()).toEqual(discs.map(({ copyId }) => copyId).sort());
    for (const plate of few.plates) {
      const printer = PRINTERS.find(({ id }) => id === plate.printerId)!;
      expect(plateFaults(discs, plate.placed, printer, 3)).toEqual([]);
      expect(plate.durationS).toBeLessThanOrEqual(printer.longestRunS);
    }
  });

  test('the longest run counts in the bound: 24 pieces of 2 h on printers that run 20 h need 3 plates', () => {
    expect(few.searches.find(({ what }) => what === 'plates')!.bound).toBe(3);
  });

  test('the surest plates cost fewer expected hours than the fewest', () => {
    const hours = (plates: typeof few.plates): number =>
      plates.reduce((sum, plate) => {
        const printer = PRINTERS.find(({ id }) => id === plate.printerId)!;
        const run = {
          durationS: plate.durationS,
          massG: 0,
          copies: plate.copyIds.length,
          startS: 900 + printer.warmUpS,
        };
        return sum + runCost(run, printer).expectedS;
      }, 0);
    expect(hours(sure.plates)).toBeLessThan(hours(few.plates));
  });
});

describe('what the owner asks for', () => {
  test.each(['surest', 'fewest'] as const)('%s: together, apart and pins are kept', (aim) => {
    const items = [
      copy('yoke#1', 40, 6, { together: 'neck' }),
      copy('ring#1', 40, 1, { together: 'neck' }),
      copy('hub#1', 30, 1, { apart: 'hubs' }),
      copy('hub#2', 30, 1, { apart: 'hubs' }),
      copy('hub#3', 30, 1, { apart: 'hubs' }),
      copy('fork#1', 40, 2, { pinned: 'bench' }),
      copy('fork#2', 40, 2, { pinned: 'loft' }),
    ];
    const { plates, notes } = packPlates(items, PRINTERS, { aim, rounds: 40 });
    expect(plateOf(plates, 'yoke#1')).toBe(plateOf(plates, 'ring#1'));
    expect(new Set(['hub#1', 'hub#2', 'hub#3'].map((id) => plateOf(plates, id))).size).toBe(3);
    expect(plates.find(({ copyIds }) => copyIds.includes('fork#1'))!.printerId).toBe('bench');
    expect(plates.find(({ copyIds }) => copyIds.includes('fork#2'))!.printerId).toBe('loft');
    expect(notes).toEqual([]);
  });

  test('what no one plate takes together is put on several, and that is said', () => {
    const items = [1, 2, 3].map((k) => copy(`shell#${k}`, 150, 3, { together: 'shells' }));
    const { plates, notes } = packPlates(items, PRINTERS, { rounds: 40 });
    expect(plates.flatMap(({ copyIds }) => copyIds).length).toBe(3);
    expect(notes).toEqual(['what is to lie together as "shells" is on 3 plates: no one plate and run takes it']);
  });

  test('a large piece with a face to show lies alone, a small one need not', () => {
    const small = [1, 2, 3, 4].map((k) => copy(`clip#${k}`, 20, 0.5));
    const { plates } = packPlates(
      [copy('mask#1', 120, 6, { shows: true }), copy('bead#1', 15, 0.4, { shows: true }), ...small],
      [bench],
      {
        rounds: 40,
      },
    );
    expect(plates.find(({ copyIds }) => copyIds.includes('mask#1'))!.copyIds).toEqual(['mask#1']);
    expect(plates.find(({ copyIds }) => copyIds.includes('bead#1'))!.copyIds.length).toBe(5);
  });

  test('an accepted plate stays to the last digit; copies that are no longer to print go from it', () => {
    const items = [1, 2, 3, 4, 5].map((k) => copy(`clip#${k}`, 30, 1));
    const placed = [
      { copyId: 'clip#2', xMm: 20.125, yMm: 30.5, turnDeg: 90 },
      { copyId: 'clip#4', xMm: 150, yMm: 160, turnDeg: 0 },
      { copyId: 'clip#9', xMm: 100, yMm: 100, turnDeg: 0 },
    ];
    const { plates, notes } = packPlates(items, PRINTERS, { rounds: 20, kept: [{ printerId: 'loft', placed }] });
    // 20.125 − 30 at a quarter turn would leave the plate, so the first is moved to where it fits.
    expect(notes.length).toBe(1);
    const moved = placed.map((at) => (at.copyId === 'clip#2' ? { ...at, xMm: 60.125 } : at));
    const again = packPlates(items, PRINTERS, { rounds: 20, kept: [{ printerId: 'loft', placed: moved }] });
    expect(again.notes).toEqual([]);
    expect(again.plates[0]!.placed).toEqual(moved.slice(0, 2));
    expect(again.plates.flatMap(({ copyIds }) => copyIds).sort()).toEqual(items.map(({ copyId }) => copyId));
    expect(plates.flatMap(({ copyIds }) => copyIds).sort()).toEqual(items.map(({ copyId }) => copyId));
  });
});
