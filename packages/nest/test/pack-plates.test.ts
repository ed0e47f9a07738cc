import { type NestItem, packPlates } from '@stonehand/nest';
import { describe, expect, test } from 'vitest';
import { circle } from '../../../tests/arbitraries/footprints.ts';
import { printerWith, rectangle } from '../../../tests/arbitraries/printers.ts';
import { plateFaults } from '../../../tests/oracles/polygon-overlap.ts';

const HOUR = 3600;
const bench = printerWith('bench', rectangle(5, 5, 215, 215));
const loft = printerWith('loft', rectangle(5, 5, 251, 251), { heightMm: 256 });
const shed = printerWith('shed', circle(150, 90, 150, 150), { heightMm: 400, longestRunS: 30 * HOUR });
const PRINTERS = [bench, loft, shed];

function copy(copyId: string, size: number, hours: number, rest: Partial<NestItem> = {}): NestItem {
  return {
    copyId,
    footprint: [rectangle(0, 0, size, size * 0.7)],
    heightMm: 40,
    brimMm: 2,
    materialId: 'asa',
    recipeId: 'usual',
    choices: PRINTERS.map((printer) => ({ printerId: printer.id, durationS: hours * HOUR, massG: 12 * hours })),
    turnsDeg: [0, 90],
    ...rest,
  };
}

const HERON = [
  copy('heron/head/skull', 150, 9),
  copy('heron/head/beak', 120, 4, { materialId: 'petg' }),
  ...[1, 2, 3, 4, 5, 6].map((k) => copy(`heron/legs/foot-pad#${k}`, 45, 0.7, { materialId: 'tpu', recipeId: 'soft' })),
  ...[1, 2, 3, 4, 5, 6, 7, 8].map((k) => copy(`heron/neck/vertebra#${k}`, 40, 1.2)),
  copy('heron/body/back-shell/a#1', 180, 11),
  copy('heron/body/back-shell/b#1', 180, 10),
];

describe('plates of several unlike printers', () => {
  const { plates, unplaced, searches } = packPlates(HERON, PRINTERS, { rounds: 40 });

  test('every copy lies on exactly one plate and no plate has a fault', () => {
    expect(unplaced).toEqual([]);
    expect(plates.flatMap((plate) => plate.copyIds).sort()).toEqual(HERON.map((item) => item.copyId).sort());
    for (const plate of plates) {
      const printer = PRINTERS.find((p) => p.id === plate.printerId)!;
      expect(plateFaults(HERON, plate.placed, printer, 3)).toEqual([]);
    }
  });

  test('a plate has one material and one recipe', () => {
    for (const plate of plates) {
      const on = HERON.filter((item) => plate.copyIds.includes(item.copyId));
      expect(new Set(on.map((item) => `${item.materialId} ${item.recipeId}`)).size).toBe(1);
      expect(plate.materialIds).toEqual([on[0]!.materialId]);
    }
  });

  test('pieces of many hours lie apart, pieces of one hour together', () => {
    for (const plate of plates) {
      const long = HERON.filter(
        (item) => plate.copyIds.includes(item.copyId) && item.choices[0]!.durationS >= 8 * HOUR,
      );
      expect(long.length).toBeLessThanOrEqual(1);
    }
    const ofVertebrae = plates.filter((plate) => plate.copyIds.some((id) => id.includes('vertebra')));
    expect(ofVertebrae.length).toBeLessThanOrEqual(3);
  });

  test('hours are balanced: the busiest printer is within a copy of the even share', () => {
    const hours = searches.find((search) => search.what === 'hours on the busiest printer')!;
    expect(hours.value).toBeGreaterThanOrEqual(hours.bound!);
    // Longest-first lists end at most one longest job above the even share (Graham 1969).
    expect(hours.value).toBeLessThanOrEqual(hours.bound! + 11);
    const count = searches.find((search) => search.what === 'plates')!;
    expect(count.value).toBe(plates.length);
    expect(count.value).toBeGreaterThanOrEqual(count.bound!);
  });

  test('plates are named by what is on them', () => {
    const pads = plates.find((plate) => plate.copyIds.length === 6 && plate.copyIds[0]!.includes('foot-pad'));
    expect(pads?.name ?? plates.map((plate) => plate.name).join('; ')).toMatch(/foot pads on (bench|loft|shed)/);
    expect(plates.map((plate) => plate.name).join('; ')).toMatch(/back shell a/);
  });

  test('grams and seconds are sums over the copies', () => {
    const grams = plates.reduce((sum, plate) => sum + plate.massG, 0);
    expect(grams).toBeCloseTo(
      HERON.reduce((sum, item) => sum + item.choices[0]!.massG, 0),
      6,
    );
  });

  test('the same seed gives the same plates, in whatever order the copies are named', () => {
    const again = packPlates([...HERON].reverse(), PRINTERS, { rounds: 40 });
    expect(again.plates).toEqual(plates);
  });
});

describe('rules of the printers', () => {
  test('a copy never goes to a printer that is not among its choices', () => {
    const only = [1, 2, 3, 4, 5, 6].map((k) =>
      copy(`rib#${k}`, 60, 5, { choices: [{ printerId: 'bench', durationS: 5 * HOUR, massG: 60 }] }),
    );
    const { plates } = packPlates(only, PRINTERS, { rounds: 20 });
    expect(new Set(plates.map((plate) => plate.printerId))).toEqual(new Set(['bench']));
  });

  test('no plate runs longer than its printer may, by the given plate time too', () => {
    const items = Array.from({ length: 9 }, (_, k) =>
      copy(`rib#${k}`, 30, 4, { choices: [{ printerId: 'bench', durationS: 4 * HOUR, massG: 60 }] }),
    );
    for (const plate of packPlates(items, PRINTERS, { rounds: 20 }).plates) {
      expect(plate.durationS).toBeLessThanOrEqual(20 * HOUR);
    }
    const plateSeconds = (copies: readonly NestItem[]): number => 7 * HOUR * copies.length;
    for (const plate of packPlates(items, PRINTERS, { rounds: 20, plateSeconds }).plates) {
      expect(plate.copyIds.length).toBeLessThanOrEqual(2);
    }
  });

  test('mates of a family come from one printer', () => {
    const items = [1, 2, 3, 4].flatMap((k) => [
      copy(`shin-${k}/a`, 60, 3, { family: `shin-${k}` }),
      copy(`shin-${k}/b`, 60, 3, { family: `shin-${k}` }),
    ]);
    const { plates } = packPlates(items, PRINTERS, { rounds: 20 });
    for (let k = 1; k <= 4; k++) {
      const at = plates.filter((plate) => plate.copyIds.some((id) => id.startsWith(`shin-${k}/`)));
      expect(new Set(at.map((plate) => plate.printerId)).size).toBe(1);
    }
  });

  test('what cannot be placed is named with its reason', () => {
    const choice = (printerId: string, hours: number) => [{ printerId, durationS: hours * HOUR, massG: 1 }];
    const items = [
      copy('mast', 50, 2, { heightMm: 300, choices: choice('bench', 2) }),
      copy('hull', 240, 2, { choices: choice('bench', 2) }),
      copy('keel', 100, 26, { choices: choice('bench', 26) }),
      copy('sail', 100, 2, { choices: choice('barn', 2) }),
      copy('oar', 100, 2, { choices: choice('bench', 2), pinned: 'loft' }),
      copy('buoy', 50, 2),
    ];
    const { plates, unplaced } = packPlates(items, PRINTERS, { rounds: 20 });
    expect(plates.flatMap((plate) => plate.copyIds)).toEqual(['buoy']);
    const why = new Map(unplaced.map((one) => [one.copyId, one.reason]));
    expect(why.get('mast')).toBe('300 mm high, bench prints 250 mm');
    expect(why.get('hull')).toBe('its outline with brim fits bench at no turn that was tried');
    expect(why.get('keel')).toBe('takes 26 h 00 on bench, its longest run is 20 h 00');
    expect(why.get('sail')).toBe('no printer at hand is among those it can go to');
    expect(why.get('oar')).toBe('kept for loft, which is not among the printers it can go to');
  });

  test('nothing to print gives no plates', () => {
    expect(packPlates([], PRINTERS)).toEqual({ plates: [], unplaced: [], searches: [], notes: [] });
  });
});
