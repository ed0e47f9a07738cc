import { copyFileSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Reading, Review } from '@stonehand/model';
import { beforeAll, describe, expect, test } from 'vitest';
import { freshFolder, ROOT, stonehand } from './helpers/stonehand.ts';

describe('the trial prints', () => {
  const folder = join(freshFolder('trial'), 'prints');

  test('are three sound meshes of the sizes that fit any bed, with what to expect of each', () => {
    const ran = stonehand(['trial', '--out', folder, '--bed', '220x220x250', '--json']);
    expect(ran.code).toBe(0);
    const rows = JSON.parse(ran.out) as { id: string; estimate: { byKind: unknown[] } }[];
    expect(rows.map(({ id }) => id)).toEqual(['trial-walls', 'trial-fill', 'trial-support']);
    const files = readdirSync(folder).sort();
    const readings = JSON.parse(
      stonehand(['measure', ...files.map((f) => join(folder, f)), '--json']).out,
    ) as Reading[];
    expect(readings.map(({ grade, components }) => [grade, components])).toEqual([
      ['sound', 1],
      ['sound', 1],
      ['sound', 1],
    ]);
    for (const { boxMm } of readings) expect(Math.max(...boxMm.max.map((v, k) => v - boxMm.min[k]!))).toBeLessThan(50);
  });
});

describe('what is recorded of one part', () => {
  const root = join(freshFolder('record'), 'socket');
  const record = (...args: string[]) => stonehand(['record', ...args], { cwd: root });
  const review = (): Review => JSON.parse(record('--review', '--json').out);
  const estimate = (): { massG: { value: number; low: number; high: number }; durationS: { value: number } } =>
    JSON.parse(stonehand(['estimate', 'neck-socket.stl', '--json'], { cwd: root }).out)[0];
  let before: ReturnType<typeof estimate>;

  beforeAll(() => {
    mkdirSync(root, { recursive: true });
    copyFileSync(join(ROOT, 'parts/heron/neck/neck-socket.stl'), join(root, 'neck-socket.stl'));
    expect(stonehand(['init', root]).code).toBe(0);
    before = estimate();
  });

  test('nothing is calibrated at first: the stated priors', () => {
    const { rows, factors } = review();
    expect(rows).toEqual([]);
    expect(factors.every(({ records }) => records === 0)).toBe(true);
    expect(before.massG.low / before.massG.value).toBeCloseTo(0.92, 6);
  });

  test('a forecast near the estimate agrees, one of another recipe raises the alarm', () => {
    const near = record('forecast', 'neck-socket#1', '--grams', String(Math.round(before.massG.value)));
    expect(near.code).toBe(0);
    expect(near.out).toContain('agrees');
    const far = record('forecast', 'neck-socket#1', '--grams', String(Math.round(2 * before.massG.value)));
    expect(far.code).toBe(1);
    expect(far.out).toContain('ALARM');
  });

  test('weighed prints correct the estimate, narrow it, and replace the forecasts', () => {
    const grams = (1.06 * before.massG.value).toFixed(1);
    for (let n = 0; n < 4; n++) expect(record('done', 'neck-socket#1', '--grams', grams).code).toBe(0);
    const { massG } = estimate();
    expect(massG.value / before.massG.value).toBeGreaterThan(1.04);
    expect(massG.value / before.massG.value).toBeLessThan(1.06);
    expect(massG.high - massG.low).toBeLessThan(0.8 * (before.massG.high - before.massG.low));
    const { rows, factors } = review();
    expect(rows.map(({ what }) => what)).toEqual(['done', 'done', 'done', 'done']);
    expect(rows.every(({ inside, others }) => inside && others === 3)).toBe(true);
    expect(factors.filter(({ quantity, records }) => quantity === 'mass' && records === 4)).toHaveLength(1);
    expect(factors.filter(({ quantity }) => quantity === 'time').every(({ records }) => records === 0)).toBe(true);
  });

  test('a trial print is recorded by itself, with its printer and material', () => {
    const alone = record('done', 'trial-walls', '--grams', '9');
    expect(alone.code).toBe(2);
    expect(alone.err).toContain('printer and material');
    const [printer, material] = ['time', 'mass'].map(
      (quantity) => review().factors.find((factor) => factor.quantity === quantity)!.of,
    );
    const full = record(
      'done',
      'trial-walls',
      '--printer',
      printer!,
      '--material',
      material!,
      '--grams',
      '7',
      '--minutes',
      '40',
    );
    expect(full.code).toBe(0);
    const factor = review().factors.find(({ quantity }) => quantity === 'time')!;
    expect(factor.records).toBe(1);
    expect(factor.lacks).toEqual(['fill', 'support']);
  });
});
