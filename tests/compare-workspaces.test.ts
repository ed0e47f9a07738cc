import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { writeStl } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { box, cup, shuffled, together, tube } from '../packages/inspect/test/solids.ts';
import { stonehand } from './helpers/stonehand.ts';

// A head in two revisions: the lid grew taller, the ring wider inside, the plate thicker; the hook got another name, a pin came; the shell's base changed at its foot, which
// the shell kept, the cap's base at a corner that the cap had cut away.
const BASE = together(box([40, 30, 10]), box([10, 10, 20], [60, 0, 0]));
const BASE_NEW = together(box([40, 30, 10]), box([10, 10, 23], [60, 0, 0]));

const before: Readonly<Record<string, Mesh>> = {
  lid: box([30, 30, 4]),
  ring: tube(10, 14, 6, 48),
  plate: box([50, 20, 3]),
  hook: cup(4, 6, 2, 12, 32),
  shell: together(box([40, 30, 10]), box([10, 10, 20], [60, 0, 0])),
  cap: box([40, 30, 10]),
  foot: box([12, 12, 12]),
};
const after: Readonly<Record<string, Mesh>> = {
  ...before,
  lid: box([30, 30, 6]),
  ring: tube(10.2, 14, 6, 48),
  plate: box([50, 20, 3.5]),
  // the same triangles in another order
  foot: shuffled(before['foot']!, 5),
  pin: box([5, 5, 20]),
};

describe('two revisions of a workspace', () => {
  let folder: string;
  type Row = Readonly<{
    partId: string;
    was?: string;
    what: string;
    advice: string;
    massG: readonly [number, number];
    there: number;
    distanceMm?: Readonly<{ most: number }>;
    bases: readonly Readonly<{ touches: boolean; change: Readonly<{ mostMm: number }> }>[];
  }>;
  let result: Readonly<{
    parts: readonly Row[];
    again: Readonly<{ massG: number; parts: number }>;
    assemblies: readonly Readonly<{ assemblyId: string; massG: readonly [{ value: number }, { value: number }] }>[];
  }>;
  const row = (id: string): Row => result.parts.find(({ partId }) => partId === `head/${id}`)!;

  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'stonehand-revisions-'));
    workspace(join(folder, 'old'), before, BASE);
    const { hook, ...rest } = after;
    workspace(join(folder, 'new'), { ...rest, latch: hook! }, BASE_NEW);
    const { out, code, err } = stonehand(['compare', join(folder, 'old'), join(folder, 'new'), '--json']);
    if (code !== 0) throw new Error(err);
    result = JSON.parse(out);
  }, 120_000);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test('three shapes changed, each by as much as it did', () => {
    const changed = result.parts.filter(({ what }) => what === 'changed').map(({ partId }) => partId);
    expect(changed.sort()).toEqual(['head/lid', 'head/plate', 'head/ring']);
    // Best aligned, the 2 mm of the lid are shared out over both faces or lie on one.
    expect(row('lid').distanceMm!.most).toBeGreaterThan(0.9);
    expect(row('lid').distanceMm!.most).toBeLessThan(2.01);
    expect(row('ring').distanceMm!.most).toBeCloseTo(0.2, 2);
  });

  test('one has another name, one is new, the rest is the same in whatever order its triangles come', () => {
    expect([row('latch').what, row('latch').was]).toEqual(['renamed', 'head/hook']);
    expect([row('pin').what, row('pin').advice]).toEqual(['added', 'print']);
    expect(row('foot').what).toBe('same');
  });

  test('what is printed stays where its shape stayed, and is printed again where it changed', () => {
    expect([row('latch').there, row('latch').advice]).toEqual([1, 'keep what is printed']);
    expect([row('lid').there, row('lid').advice]).toEqual([1, 'print again']);
  });

  test('a base that changed where the rework kept it asks for work, one that changed elsewhere does not', () => {
    expect(row('shell').bases[0]!.touches).toBe(true);
    expect(row('shell').bases[0]!.change.mostMm).toBeCloseTo(3, 1);
    expect(row('shell').advice).toBe('rework, then print again');
    expect(row('cap').bases[0]!.touches).toBe(false);
    expect(row('cap').advice).toBe('nothing');
  });

  test('the grams to print again are those of what is to be printed, and the assembly’s mass moves by the difference', () => {
    const again = ['lid', 'ring', 'plate', 'shell', 'pin'];
    expect(result.again.parts).toBe(again.length);
    expect(result.again.massG).toBeCloseTo(
      again.reduce((sum, id) => sum + row(id).massG[1], 0),
      9,
    );
    const [old, now] = result.assemblies.find(({ assemblyId }) => assemblyId === 'head')!.massG;
    expect(now.value).toBeGreaterThan(old.value);
  });

  test('people read what to print first, then part by part', () => {
    const { out } = stonehand(['compare', join(folder, 'old'), join(folder, 'new')]);
    expect(out).toMatch(/^5 parts to print because of the new revision: \d+/);
    expect(out.replace(/\s+/g, ' ')).toContain('its base base.stl changed by up to 3.00 mm where it was kept');
    expect(out.replace(/\s+/g, ' ')).toMatch(/latch.*was.*hook/);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  });
});

function workspace(root: string, parts: Readonly<Record<string, Mesh>>, base: Mesh): void {
  const write = (file: string, content: string | Uint8Array): void => {
    mkdirSync(dirname(join(root, file)), { recursive: true });
    writeFileSync(join(root, file), content);
  };
  write('stonehand.yaml', 'name: head\n');
  write('head/base.stl', writeStl(base, 'base'));
  for (const [id, mesh] of Object.entries(parts)) write(`head/${id}.stl`, writeStl(mesh, id));
  const basedOn = new Set(['shell', 'cap']);
  const lines = Object.keys(parts).map(
    (id) =>
      `  ${id}: { mesh: ${id}.stl, unit: mm, place: [0, 0, 0]${basedOn.has(id) ? ', basedOn: [{ file: base.stl }]' : ''} }`,
  );
  write('head/assembly.yaml', `parts:\n${lines.join('\n')}\n`);
  // The ledger knows the hook by its old name in both.
  const done = ['lid', 'hook'].map((id) =>
    JSON.stringify({ version: 1, at: '2026-05-01T12:00:00+02:00', what: 'done', copyIds: [`head/${id}#1`] }),
  );
  write('ledger.jsonl', `${done.join('\n')}\n`);
}
