import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { rotationOfTurns } from '@stonehand/base';
import { ACCEPTED_FILE, acceptChoice, loadWorkspace } from '@stonehand/shop';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

const UPRIGHT = [1, 0, 0, 0, 1, 0, 0, 0, 1];

describe('accepting a choice', () => {
  test('poses, cuts and plates come back from the file as they were given', async () => {
    const root = await folderWith(SMALL);
    await acceptChoice(root, {
      kind: 'pose',
      pieceId: 'lantern/frame/b',
      rotation: [0, -1, 0, 1, 0, 0, 0, 0, 1],
      note: 'rim down',
    });
    await acceptChoice(root, {
      kind: 'cuts',
      partId: 'lantern/frame',
      planes: [{ normal: [0, 0, 1], offsetMm: 82.25 }],
    });
    const placed = [{ copyId: 'lantern/frame/b#2', xMm: 12.5, yMm: 30, turnDeg: 45 }];
    await acceptChoice(root, { kind: 'plate', printerId: 'bench', placed });
    expect((await loadWorkspace(root)).accepted).toEqual({
      poses: { 'lantern/frame/b': { rotation: [0, -1, 0, 1, 0, 0, 0, 0, 1], note: 'rim down' } },
      cuts: { 'lantern/frame': [{ normal: [0, 0, 1], offsetMm: 82.25 }] },
      plates: [{ printerId: 'bench', placed }],
    });
  });

  test('any rotation keeps every digit', async () => {
    const root = await folderWith(SMALL);
    const angle = fc.double({ min: -360, max: 360, noNaN: true });
    await fc.assert(
      fc.asyncProperty(fc.tuple(angle, angle, angle), async (turns) => {
        const rotation = rotationOfTurns(turns).map((n) => n + 0);
        await acceptChoice(root, { kind: 'pose', pieceId: 'lantern/lid', rotation });
        expect((await loadWorkspace(root)).accepted.poses['lantern/lid']!.rotation).toEqual(rotation);
      }),
      { seed: 6, numRuns: 20 },
    );
  });

  test('comments and everything else in the file stay', async () => {
    const root = await folderWith({
      ...SMALL,
      [ACCEPTED_FILE]:
        '# chosen with Mother\nposes:\n  # it leans otherwise\n  lantern/lid:\n    turn: [0, 90, 0] # on its side\n',
    });
    await acceptChoice(root, { kind: 'pose', pieceId: 'lantern/frame', rotation: UPRIGHT });
    const text = await readFile(join(root, ACCEPTED_FILE), 'utf8');
    for (const kept of ['# chosen with Mother', '# it leans otherwise', 'turn: [ 0, 90, 0 ] # on its side'])
      expect(text).toContain(kept);
    expect(Object.keys((await loadWorkspace(root)).accepted.poses)).toEqual(['lantern/lid', 'lantern/frame']);
  });

  test('a second pose of a piece replaces the first, the same plate twice stays one', async () => {
    const root = await folderWith(SMALL);
    await acceptChoice(root, { kind: 'pose', pieceId: 'lantern/lid', rotation: UPRIGHT });
    await acceptChoice(root, { kind: 'pose', pieceId: 'lantern/lid', rotation: [1, 0, 0, 0, 0, -1, 0, 1, 0] });
    const plate = {
      kind: 'plate',
      printerId: 'bench',
      placed: [{ copyId: 'lantern/lid#1', xMm: 10, yMm: 10, turnDeg: 0 }],
    } as const;
    await acceptChoice(root, plate);
    await acceptChoice(root, plate);
    const { accepted } = await loadWorkspace(root);
    expect(accepted.poses['lantern/lid']!.rotation).toEqual([1, 0, 0, 0, 0, -1, 0, 1, 0]);
    expect(accepted.plates).toHaveLength(1);
  });

  test('a copy is accepted on one plate only, and a mirror is no pose; nothing is written then', async () => {
    const root = await folderWith(SMALL);
    const on = (xMm: number) =>
      ({ kind: 'plate', printerId: 'bench', placed: [{ copyId: 'lantern/lid#1', xMm, yMm: 10, turnDeg: 0 }] }) as const;
    await acceptChoice(root, on(10));
    const before = await readFile(join(root, ACCEPTED_FILE), 'utf8');
    await expect(acceptChoice(root, on(20))).rejects.toMatchObject({ code: 'DATA_DUPLICATE' });
    await expect(
      acceptChoice(root, { kind: 'pose', pieceId: 'lantern/lid', rotation: [-1, 0, 0, 0, 1, 0, 0, 0, 1] }),
    ).rejects.toMatchObject({ code: 'DATA_INVALID' });
    expect(await readFile(join(root, ACCEPTED_FILE), 'utf8')).toBe(before);
  });

  test('a file that is not YAML is left alone', async () => {
    const root = await folderWith({ ...SMALL, [ACCEPTED_FILE]: 'poses: [\n' });
    await expect(acceptChoice(root, { kind: 'pose', pieceId: 'lantern/lid', rotation: UPRIGHT })).rejects.toMatchObject(
      { code: 'YAML_SYNTAX' },
    );
    expect(await readFile(join(root, ACCEPTED_FILE), 'utf8')).toBe('poses: [\n');
  });
});
