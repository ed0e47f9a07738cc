import { existsSync, readdirSync, readFileSync } from 'node:fs';
import type { Spool } from '@stonehand/model';
import { assignSpools } from '@stonehand/schedule';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const spool = (id: string, g: number): Spool => ({ id, materialId: 'white', netG: g, lowG: g, highG: g, from: 'test' });
const need = (id: string, massG: number) => ({ id, materialId: 'white', massG });

test('leftovers are used before a full spool is opened', () => {
  const { spoolOf, opened } = assignSpools({
    needs: [need('a', 100), need('b', 90)],
    spools: [spool('full', 1000), spool('end', 120), spool('rest', 110)],
    keepBackG: 0,
  });
  expect(spoolOf).toEqual({ a: 'rest', b: 'end' });
  expect(opened.toSorted()).toEqual(['end', 'rest']);
});

test('what is kept back and the low estimate both count', () => {
  const shelf = [{ ...spool('w', 200), lowG: 190 }];
  expect(assignSpools({ needs: [need('a', 176)], spools: shelf, keepBackG: 15 }).without).toEqual(['a']);
  expect(assignSpools({ needs: [need('a', 175)], spools: shelf, keepBackG: 15 }).without).toEqual([]);
});

test('when not all fits, the least worth is left without', () => {
  const needs = [
    { ...need('a', 300), worth: 1 },
    { ...need('b', 200), worth: 5 },
    { ...need('c', 150), worth: 4 },
  ];
  expect(assignSpools({ needs, spools: [spool('w', 360)], keepBackG: 0 })).toMatchObject({
    without: ['a'],
    proven: true,
  });
});

const shelves = fc.record({
  grams: fc.array(fc.integer({ min: 1, max: 100 }), { maxLength: 6 }),
  rooms: fc.array(fc.integer({ min: 1, max: 150 }), { maxLength: 4 }),
});

test('no spool gives more than it has, and nothing better exists (all assignments tried)', () => {
  fc.assert(
    fc.property(shelves, ({ grams, rooms }) => {
      const needs = grams.map((g, i) => need(`n${i}`, g));
      const spools = rooms.map((g, i) => spool(`s${i}`, g));
      const { spoolOf, without, opened, proven } = assignSpools({ needs, spools, keepBackG: 0 });
      expect(proven).toBe(true);
      for (const one of spools) {
        const drawn = needs.filter(({ id }) => spoolOf[id] === one.id).reduce((sum, { massG }) => sum + massG, 0);
        expect(drawn).toBeLessThanOrEqual(one.netG);
      }
      const lost = needs.filter(({ id }) => without.includes(id)).reduce((sum, { massG }) => sum + massG, 0);
      const openedG = spools.filter(({ id }) => opened.includes(id)).reduce((sum, { netG }) => sum + netG, 0);
      expect([lost, openedG]).toEqual(bruteForce(grams, rooms));
    }),
    { numRuns: 150, seed: 7 },
  );
});

/** Least grams left without, then least grams opened, by trying every assignment. */
function bruteForce(grams: readonly number[], rooms: readonly number[]): number[] {
  let best = [Number.POSITIVE_INFINITY, 0];
  const left = [...rooms];
  const visit = (i: number, lost: number): void => {
    if (lost > best[0]!) return;
    if (i === grams.length) {
      const openedG = rooms.reduce((sum, room, b) => sum + (left[b]! < room ? room : 0), 0);
      if (lost < best[0]! || openedG < best[1]!) best = [lost, openedG];
      return;
    }
    left.forEach((room, b) => {
      if (room < grams[i]!) return;
      left[b] = room - grams[i]!;
      visit(i + 1, lost);
      left[b] = room;
    });
    visit(i + 1, lost + grams[i]!);
  };
  visit(0, 0);
  return best;
}

const DATA = new URL('../../../../shared/data/scheduling/', import.meta.url);
const reason = existsSync(DATA) ? '' : ' (skipped: ../shared/data/scheduling is absent)';

describe.skipIf(!existsSync(DATA))(`proven instances${reason}`, () => {
  const read = (file: string) => JSON.parse(readFileSync(new URL(file, DATA), 'utf8'));
  const files = existsSync(DATA) ? readdirSync(DATA) : [];

  // Optima by CBC 2.10.8 and HiGHS, see the README there.
  test.each(files.filter((file) => file.startsWith('spool-')))('%s: fewest new spools, then fewest opened', (file) => {
    const data = read(file);
    const answer = assignSpools({
      needs: data.jobs.map((one: { id: string; material: string; grams: number }) => ({
        id: one.id,
        materialId: one.material,
        massG: one.grams,
      })),
      spools: data.spools.map((one: { id: string; material: string; gramsLeft: number }) => ({
        id: one.id,
        materialId: one.material,
        netG: one.gramsLeft,
        lowG: one.gramsLeft,
        highG: one.gramsLeft,
        from: file,
      })),
      keepBackG: data.keepBackGrams,
      newSpoolG: { pla: data.newSpoolGrams, petg: data.newSpoolGrams },
      prefer: 'fewest',
    });
    expect([answer.newSpools.length, answer.opened.length, answer.proven]).toEqual([
      data.best.newSpools,
      data.best.shelfSpoolsOpened,
      true,
    ]);
  });

  // Falkenauer 1996 and Scholl, Klein & Jürgens 1997; t120_03 takes seconds and is left to the benchmark.
  test.each(files.filter((file) => file.startsWith('pack-') && !file.includes('t120')))(
    '%s: the known least number of bins',
    (file) => {
      const data = read(file);
      const needs = data.sizes.map((massG: number, i: number) => need(`i${i}`, massG));
      const answer = assignSpools({ needs, spools: [], keepBackG: 0, newSpoolG: { white: data.capacity } });
      expect([answer.newSpools.length, answer.without]).toEqual([data.best.bins, []]);
    },
  );
});
