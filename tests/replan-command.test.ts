import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { writeStl } from '@stonehand/mesh';
import type { Plan } from '@stonehand/model';
import { beforeAll, describe, expect, test } from 'vitest';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

// A weekend as its owner lives it, on a workspace of four blocks and one printer that may run alone.
const FROM = '2026-06-05T18:00+02:00';
const TO = '2026-06-07T22:00+02:00';

function block(x: number, y: number, z: number): Uint8Array {
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((c) => [c & 1 ? x : 0, c & 2 ? y : 0, c & 4 ? z : 0]);
  const faces = [
    0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5,
  ];
  return writeStl(
    { positions: Float64Array.from(corners), triangles: Uint32Array.from(faces), originMm: [0, 0, 0] },
    'block',
  );
}

function workspace(): string {
  const root = freshFolder('replan');
  mkdirSync(join(root, 'shop'));
  mkdirSync(join(root, 'frame'));
  const files: Record<string, string> = {
    'stonehand.yaml': 'name: Frame\ntimeZone: Europe/Berlin\nseed: 3\n',
    'shop/printers.yaml': 'loft: { volume: 120 x 120 x 200, unattended: true }\n',
    'shop/materials.yaml': 'grey: { kind: PETG, colour: grey, price: 20, dry: 0 h }\n',
    'shop/spools.yaml': 'G1: { material: grey, net: 900, counted: "2026-06-05 12:00" }\n',
    'shop/hours.yaml':
      'week:\n  mon-sun: 08:00-22:00 present, 22:00-08:00 asleep\nwatch: 10 min\nstartWork: 8 min\nunloadWork: 6 min\n',
    'frame/assembly.yaml': `name: Frame\nparts:\n${['post', 'beam', 'foot']
      .map((name) => `  ${name}: { mesh: ${name}.stl, unit: mm }\n`)
      .join('')}`,
  };
  for (const [name, text] of Object.entries(files)) writeFileSync(join(root, name), text);
  writeFileSync(join(root, 'frame/post.stl'), block(90, 90, 60));
  writeFileSync(join(root, 'frame/beam.stl'), block(90, 88, 40));
  writeFileSync(join(root, 'frame/foot.stl'), block(90, 86, 30));
  return root;
}

describe('plan, record, plan again', () => {
  const root = workspace();
  const run = (...args: string[]): string => {
    const { code, out, err } = stonehand(args, { cwd: root });
    expect([code, err]).toEqual([0, '']);
    return out;
  };
  const plan = (from: string): Plan => {
    run('plan', '.', '--from', from, '--to', TO);
    return JSON.parse(readFileSync(join(root, 'reports/plan.json'), 'utf8')) as Plan;
  };
  const named = (of: Plan, runId: number): string =>
    of.plates.find(({ id }) => id === of.runs[runId]!.plateId)?.name ?? '';
  let first: Plan;
  beforeAll(() => {
    first = plan(FROM);
  }, 120_000);

  test('asked the same again, the plan is the same to the last digit', () => {
    expect(plan(FROM)).toEqual(first);
    expect(first.runs).toHaveLength(3);
  });

  test('a run that was started is under way, the others stay where they are', () => {
    run('record', 'started', 'loft', '--at', '2026-06-05 18:09');
    const next = plan('2026-06-05T18:30+02:00');
    expect(next.runs[0]).toMatchObject({ id: first.runs[0]!.id, state: 'running', start: '2026-06-05T18:09:00+02:00' });
    const starts = (of: Plan): string[][] => of.runs.slice(1).map(({ id, start }) => [id, start]);
    // It began a minute after the plan, and the next start has that much slack or moves by no more than the minute.
    starts(next).forEach(([id, start], i) => {
      expect(id).toBe(starts(first)[i]![0]);
      expect(Math.abs(Date.parse(start!) - Date.parse(starts(first)[i]![1]!))).toBeLessThanOrEqual(60_000);
    });
  });

  test('a failure found in the morning: the plate is printed again, its filament is off the spool, each moved run says why', () => {
    const before = JSON.parse(readFileSync(join(root, 'reports/plan.json'), 'utf8')) as Plan;
    const out = run('record', 'failed', 'loft', '--layer', '50', '--at', '2026-06-06 09:00');
    expect(out).toMatch(/failed on loft at layer 50; .* off spool G1; 1 to print again/);
    const next = plan('2026-06-06T09:00+02:00');
    const failed = named(before, 0);
    const again = next.runs.find(({ plateId }) => next.plates.find(({ id }) => id === plateId)?.name === failed)!;
    expect(again.state).toBe('planned');
    expect(again.id).not.toBe(before.runs[0]!.id);
    // At layer 50 the share of its grams in those layers is gone, and no more.
    const used = 900 - next.spools[0]!.netG;
    expect(used).toBeGreaterThan(5);
    expect(used).toBeLessThan(before.runs[0]!.spools[0]!.massG);
    for (const { was, now, why } of next.moved ?? []) {
      expect(now?.start).not.toBe(was.start);
      expect(why.length).toBeGreaterThan(10);
    }
    const movedIds = new Set((next.moved ?? []).map(({ runId }) => runId));
    for (const run of before.runs.slice(1)) {
      const same = next.runs.find(({ id }) => id === run.id);
      expect(same?.start === run.start || movedIds.has(run.id)).toBe(true);
    }
  });

  test('what is done is not planned again, and buy keeps to the plan', () => {
    run('record', 'done', 'foot', '--at', '2026-06-06 12:00', '--grams', '80');
    const next = plan('2026-06-06T12:00+02:00');
    const copies = next.plates.flatMap(({ placed }) => placed.map(({ copyId }) => copyId));
    expect(copies.sort()).toEqual(['frame/beam#1', 'frame/post#1']);
    expect(run('buy', '.', '--from', '2026-06-06T12:00+02:00', '--to', TO)).toMatch(
      /^Can be printed now without buying: 2 of 2 plates/,
    );
  });

  test('a piece that broke later is planned again, in the pose it was printed in', () => {
    run('record', 'broken', 'foot', '--at', '2026-06-06 13:00');
    const next = plan('2026-06-06T13:00+02:00');
    expect(next.plates.flatMap(({ placed }) => placed.map(({ copyId }) => copyId))).toContain('frame/foot#1');
    expect(next.pieces.find(({ id }) => id === 'frame/foot')!.pose.rotation).toEqual(
      first.pieces.find(({ id }) => id === 'frame/foot')!.pose.rotation,
    );
  });

  test('names that mean nothing are refused with the nearest ones', () => {
    const { code, err } = stonehand(['record', 'done', 'fot#1'], { cwd: root });
    expect(code).toBe(2);
    expect(err).toMatch(/there is no such part.*\n.*foot/);
  });
});
