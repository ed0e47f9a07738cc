import { type KeptRun, replanRuns, type Schedule, type ScheduleInput, scheduleRuns } from '@stonehand/schedule';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { shops } from './arbitraries/shops.ts';
import { brokenRules } from './oracles/run-rules.ts';

/** 320 shops in the usual run; STONEHAND_SHOPS=2000 for the long form. */
const SHOPS = Number(process.env['STONEHAND_SHOPS'] ?? 320);

describe('the rules of runs, checked by an oracle written from the rules alone', () => {
  test('no random shop gets a schedule that breaks a rule', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        expect(brokenRules(shop, scheduleRuns(shop))).toEqual([]);
      }),
      { numRuns: SHOPS, seed: 20260605 },
    );
  }, 1_800_000);

  test('the same shop and seed give the same schedule', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        expect(scheduleRuns(shop)).toEqual(scheduleRuns(shop));
      }),
      { numRuns: 30, seed: 20260606 },
    );
  });

  test('planning on after the first run was started breaks no rule, and what is not where it was says why', () => {
    fc.assert(
      fc.property(shops, (shop) => {
        const before = scheduleRuns(shop);
        const next = afterFirstStart(shop, before);
        if (next === undefined) return;
        const again = replanRuns(next.input, { earlier: next.earlier });
        expect(brokenRules(next.input, again)).toEqual([]);
        const why = new Map(again.moved.map((moved) => [moved.runId, moved.why]));
        for (const run of next.earlier) {
          const now = again.runs.find(({ id }) => id === run.runId);
          const still =
            now?.printerId === run.printerId && Math.abs(Date.parse(now.start) - Date.parse(run.start)) < 60_000;
          expect(still || (why.get(run.runId) ?? '').length > 10, `${run.plateId}: ${why.get(run.runId)}`).toBe(true);
        }
      }),
      { numRuns: 60, seed: 20260608 },
    );
  }, 300_000);

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

/** The shop when the first planned run has been watched: it is under way, the rest is planned. */
function afterFirstStart(
  shop: ScheduleInput,
  { runs }: Schedule,
): { input: ScheduleInput; earlier: KeptRun[] } | undefined {
  const planned = runs.filter(({ state }) => state === 'planned');
  const [first, ...rest] = planned;
  if (first === undefined || (shop.running ?? []).some(({ printerId }) => printerId === first.printerId))
    return undefined;
  const from = first.watchedUntil;
  if (shop.to !== undefined && Date.parse(shop.to) <= Date.parse(from)) return undefined;
  const input = {
    ...shop,
    from,
    plates: shop.plates.filter(({ plate }) => plate.id !== first.plateId),
    running: [...(shop.running ?? []), { ...first, state: 'running' as const }],
  };
  const earlier = rest.map(({ id, plateId, printerId, start, spools }) => ({
    runId: id,
    plateId,
    printerId,
    start,
    spoolIds: spools.map(({ spoolId }) => spoolId),
  }));
  return { input, earlier };
}
