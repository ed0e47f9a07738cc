import { scheduleRuns } from '@stonehand/schedule';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { shops } from './arbitraries/shops.ts';
import { brokenRules } from './oracles/run-rules.ts';

describe('the rules of runs, checked by an oracle written from the rules alone', () => {
  test('no random shop gets a schedule that breaks a rule', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        expect(brokenRules(shop, scheduleRuns(shop))).toEqual([]);
      }),
      { numRuns: 320, seed: 20260605 },
    );
  });

  test('the same shop and seed give the same schedule', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        expect(scheduleRuns(shop)).toEqual(scheduleRuns(shop));
      }),
      { numRuns: 30, seed: 20260606 },
    );
  });

  test('the bound on the finish is never beaten', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        const { search } = scheduleRuns(shop);
        expect(search.bound ?? 0).toBeLessThanOrEqual(search.value);
      }),
      { numRuns: 100, seed: 20260607 },
    );
  });
});
