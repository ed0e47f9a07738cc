import { loadWorkspace, loadWorkspaceProblems } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { folderWith } from './folder.ts';

const workspace = (assembly: string, hardware: string = '{}'): Promise<string> =>
  folderWith({
    'stonehand.yaml': 'name: lantern\n',
    'shop/hardware.yaml': hardware,
    'lantern/assembly.yaml': assembly,
    'lantern/lid.stl': 'solid\nendsolid\n',
  });

describe('bought items in parts', () => {
  test('by word or by gap, with sizes that are built in or stated', async () => {
    const root = await workspace(
      [
        'parts:',
        '  lid:',
        '    mesh: lid.stl',
        '    fits:',
        '      - { item: 608 bearing, fit: press, at: [0, 0, 8.5] }',
        '      - { item: 608 bearing, fit: [0.05, 0.1], on: boss }',
        '      - { item: lamp holder, fit: snug }',
      ].join('\n'),
      'lamp holder: { mass: 20, size: { outside: 28, height: 12 } }',
    );
    const { assemblies, hardware } = await loadWorkspace(root);
    expect(assemblies[0]!.parts[0]!.fits).toEqual([
      { itemId: '608 bearing', fit: 'press', on: 'bore', atMm: [0, 0, 8.5] },
      { itemId: '608 bearing', fit: { gapMm: [0.05, 0.1] }, on: 'boss' },
      { itemId: 'lamp holder', fit: 'snug', on: 'bore' },
    ]);
    // ISO 15: a 608 is 8 × 22 × 7.
    expect(hardware.find(({ id }) => id === '608 bearing')!.size).toMatchObject({
      insideMm: 8,
      outsideMm: 22,
      heightMm: 7,
    });
  });

  test.each([
    ['{ item: 609 bearing, fit: press }', 'there is no bought item "609 bearing"'],
    ['{ item: lamp, fit: snug }', 'the size of "lamp" is not known'],
    ['{ item: M3 nut, fit: clearance }', 'clearance is for screws'],
    ['{ item: M3 nut, fit: snug, on: boss }', 'has no inside that goes over a boss'],
    ['{ item: M3 nut, fit: [0.2, 0.1] }', 'ends before it begins'],
  ])('%s is refused', async (line, says) => {
    const root = await workspace(
      `parts:\n  lid:\n    mesh: lid.stl\n    fits:\n      - ${line}\n`,
      'lamp: { mass: 20 }',
    );
    const problems = await loadWorkspaceProblems(root);
    expect(problems.map(({ message }) => message).join('\n')).toContain(says);
    expect(problems[0]!.message).toMatch(/^lantern\/assembly\.yaml:5:\d+/);
  });
});

describe('stacks', () => {
  test('take heights of bought items, counts and tolerances', async () => {
    const root = await workspace(
      [
        'parts: { lid: { mesh: lid.stl } }',
        'stacks:',
        '  hinge:',
        '    within: { what: fork, height: 40, tolerance: 0.2 }',
        '    items:',
        '      - { item: 608 bearing, tolerance: [-0.12, 0], count: 2 }',
        '      - { part: lid, height: 6.05, tolerance: 0.1 }',
        '    gap: [0.1, 0.5]',
        '    spacer: { item: M8 washer, tolerance: 0.1 }',
      ].join('\n'),
    );
    expect((await loadWorkspace(root)).assemblies[0]!.stacks).toEqual([
      {
        id: 'lantern/hinge',
        within: { what: 'fork', heightMm: 40, plusMm: 0.2, minusMm: 0.2 },
        items: [
          { what: '608 bearing', heightMm: 7, plusMm: 0, minusMm: 0.12, count: 2 },
          { what: 'lid', heightMm: 6.05, plusMm: 0.1, minusMm: 0.1, count: 1, partId: 'lantern/lid' },
        ],
        gapMm: [0.1, 0.5],
        spacer: { what: 'M8 washer', heightMm: 1.6, plusMm: 0.1, minusMm: 0.1 },
      },
    ]);
  });

  test('without any height complain', async () => {
    const root = await workspace(
      'parts: { lid: { mesh: lid.stl } }\nstacks:\n  hinge:\n    within: { height: 40 }\n    items:\n      - { what: felt }\n    gap: [0, 1]\n',
    );
    expect((await loadWorkspaceProblems(root)).map(({ message }) => message).join()).toContain('no height is stated');
  });
});
