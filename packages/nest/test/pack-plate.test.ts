import type { Ring } from '@stonehand/model';
import { type NestItem, packPlate } from '@stonehand/nest';
import { describe, expect, test } from 'vitest';
import { circle } from '../../../tests/arbitraries/footprints.ts';
import { printerWith, rectangle } from '../../../tests/arbitraries/printers.ts';
import { plateFaults } from '../../../tests/oracles/polygon-overlap.ts';

const copy = (copyId: string, footprint: readonly Ring[], rest: Partial<NestItem> = {}): NestItem => ({
  copyId,
  footprint,
  heightMm: 20,
  brimMm: 0,
  materialId: 'petg',
  recipeId: 'usual',
  choices: [{ printerId: 'bench', durationS: 3600, massG: 10 }],
  ...rest,
});

/** An L of two arms, 90 long and 30 wide. */
const BRACKET: Ring = [
  [0, 0],
  [90, 0],
  [90, 30],
  [30, 30],
  [30, 90],
  [0, 90],
];

/** A J: long shank, floor, short lip; its mouth is 30 wide. */
const HOOK: Ring = [
  [0, 0],
  [50, 0],
  [50, 40],
  [40, 40],
  [40, 10],
  [10, 10],
  [10, 80],
  [0, 80],
];

describe('shapes that fit only when they reach into each other', () => {
  test('two brackets whose boxes cannot lie side by side share a plate of 124 × 124', () => {
    // Boxes of 90 × 90 need 180 in one direction. Turned half around and nested, the pair is 90 + 30 + gap on each side.
    const printer = printerWith('bench', rectangle(0, 0, 124, 124));
    const items = [copy('bracket#1', [BRACKET]), copy('bracket#2', [BRACKET])];
    const { placed, left } = packPlate(items, printer, { clearanceMm: 3, turnsDeg: [0, 90, 180, 270] });
    expect(left).toEqual([]);
    expect(plateFaults(items, placed, printer, 3)).toEqual([]);
  });

  test('two hooks interlock on a plate too narrow for their boxes', () => {
    // Each box is 50 wide and 80 high; the plate is 75 × 95: shank in mouth, 50 + 10 + twice the gap of 2 is 64 wide.
    const printer = printerWith('bench', rectangle(0, 0, 75, 95));
    const items = [copy('hook#1', [HOOK]), copy('hook#2', [HOOK])];
    const { placed, left, search } = packPlate(items, printer, { clearanceMm: 2, turnsDeg: [0, 180] });
    expect(left).toEqual([]);
    expect(search.ended).toBe('proven');
    expect(plateFaults(items, placed, printer, 2)).toEqual([]);
  });

  test('a disc goes into the hole of a ring when there is no room beside it', () => {
    const printer = printerWith('bench', rectangle(0, 0, 110, 110));
    const items = [copy('rim', [circle(53, 64), [...circle(40, 64)].reverse()]), copy('cap', [circle(33, 48)])];
    const { placed, left } = packPlate(items, printer, { clearanceMm: 3 });
    expect(left).toEqual([]);
    expect(plateFaults(items, placed, printer, 3)).toEqual([]);
  });

  test('what is too large for the hole and the rest of the plate is left', () => {
    const printer = printerWith('bench', rectangle(0, 0, 110, 110));
    const items = [copy('rim', [circle(53, 64), [...circle(40, 64)].reverse()]), copy('cap', [circle(38, 48)])];
    const { placed, left } = packPlate(items, printer, { clearanceMm: 3, rounds: 100 });
    expect(placed).toHaveLength(1);
    expect(left).toHaveLength(1);
  });
});

describe('plates of other forms', () => {
  test('four discs of radius 40 lie on a round bed where only three rows of boxes would not', () => {
    // Four equal circles fit a circle of (1 + √2) times their radius (elementary): 40 + 1.5 needs 100.2 − 1.5 at gap 3.
    const printer = printerWith('bench', circle(102, 180, 102, 102));
    const items = [1, 2, 3, 4].map((k) => copy(`disc#${k}`, [circle(40, 60)]));
    const { placed, left } = packPlate(items, printer, { clearanceMm: 3, rounds: 2000 });
    expect(left).toEqual([]);
    expect(plateFaults(items, placed, printer, 3)).toEqual([]);
  });

  test('a long bar finds the diagonal though no usual turn fits', () => {
    // Wetzel's condition (Math. Mag. 73, 2000): 300 × 10 fits 220 × 220, at about 45°; 302 × 10 does not.
    const printer = printerWith('bench', rectangle(0, 0, 220, 220));
    const bar = (length: number): NestItem => copy('bar', [rectangle(0, 0, length, 10)]);
    expect(packPlate([bar(300)], printer, { clearanceMm: 0 }).placed).toHaveLength(1);
    expect(packPlate([bar(302)], printer, { clearanceMm: 0, rounds: 50 }).placed).toHaveLength(0);
    // 280 × 30 on 250 × 200: p + q does not decide on an oblong plate; the fitting turns lie between the steps of 15°.
    const oblong = printerWith('bench', rectangle(0, 0, 256, 200));
    const { placed } = packPlate([copy('bar', [rectangle(0, 0, 300, 20)])], oblong, { clearanceMm: 0 });
    expect(placed).toHaveLength(1);
    expect(placed[0]!.turnDeg % 15).not.toBe(0);
  });

  test('the brim counts at the edge of the usable area and in a keep-out', () => {
    const printer = printerWith('bench', rectangle(0, 0, 100, 100));
    const tile = (brimMm: number): NestItem => copy('tile', [rectangle(0, 0, 90, 90)], { brimMm });
    expect(packPlate([tile(5)], printer).placed).toHaveLength(1);
    expect(packPlate([tile(5.1)], printer, { rounds: 20 }).placed).toHaveLength(0);
    const kept = printerWith('bench', rectangle(0, 0, 100, 100), { keepOut: [rectangle(0, 0, 8, 100)] });
    expect(packPlate([tile(0)], kept).placed).toHaveLength(1);
    expect(packPlate([tile(3)], kept, { rounds: 20 }).placed).toHaveLength(0);
  });

  test('only the listed turns are used', () => {
    const printer = printerWith('bench', rectangle(0, 0, 200, 60));
    const bar = copy('bar', [rectangle(0, 0, 50, 150)], { turnsDeg: [0, 180] });
    expect(packPlate([bar], printer, { rounds: 20 }).placed).toHaveLength(0);
    expect(packPlate([{ ...bar, turnsDeg: [90] }], printer, { rounds: 20 }).placed[0]!.turnDeg).toBe(90);
  });
});

describe('repeatable answers', () => {
  const items = Array.from({ length: 12 }, (_, k) =>
    k % 3 === 0 ? copy(`bracket#${k}`, [BRACKET]) : copy(`hook#${k}`, [HOOK]),
  );
  const printer = printerWith('bench', rectangle(0, 0, 220, 220));
  const options = { rounds: 60, seed: 7, turnsDeg: [0, 90, 180, 270] };

  test('the same seed gives the same plate, in whatever order the copies are named', () => {
    const first = packPlate(items, printer, options);
    expect(packPlate(items, printer, options)).toEqual(first);
    expect(packPlate([...items].reverse(), printer, options).placed).toEqual(first.placed);
  });

  test('no more copies are placed than the bound allows', () => {
    for (let seed = 1; seed <= 5; seed++) {
      const { placed, search } = packPlate(items, printer, { ...options, seed });
      expect(placed.length).toBeLessThanOrEqual(search.bound!);
    }
    // Two plates of 60 % width always both cover the middle: at most one fits.
    const large = [1, 2].map((k) => copy(`tile#${k}`, [rectangle(0, 0, 140, 140)], { turnsDeg: [0, 90] }));
    const { placed, search } = packPlate(large, printer, options);
    expect([placed.length, search.bound, search.ended]).toEqual([1, 1, 'proven']);
  });

  test('being stopped keeps what is placed so far and says so', () => {
    const { placed, search } = packPlate(items, printer, { ...options, rounds: 100_000, stop: () => true });
    expect(placed.length).toBeGreaterThan(3);
    expect(search.ended).toBe('time');
  });
});
