import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { MeasureRow, Reading } from '@stonehand/model';
import { loadWorkspace, loadWorkspaceProblems, writeNewWorkspace } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { folderWith } from './folder.ts';

function reading(file: string, more: Partial<Reading> = {}): Reading {
  return {
    file,
    format: 'stl',
    meshHash: file,
    unit: 'mm',
    unitFrom: 'assumed',
    triangles: 12,
    vertices: 8,
    areaMm2: 600,
    boxMm: { min: [0, 0, 0], max: [10, 10, 10] },
    closed: true,
    volumeDefined: true,
    orientationConsistent: true,
    boundaryEdges: 0,
    nonManifoldEdges: 0,
    misorientedEdges: 0,
    components: 1,
    euler: 2,
    grade: 'sound',
    findings: [],
    ...more,
  };
}

describe('a new workspace', () => {
  test('loads without a complaint, with an assembly for every folder of meshes', async () => {
    const files = [
      'heron/head/skull.stl',
      'heron/head/skull.3mf',
      'heron/head/Auge links.stl',
      'heron/legs/left/shin.stl',
      'stand.obj',
    ];
    const root = await folderWith(Object.fromEntries(files.map((file) => [file, ''])));
    const rows: MeasureRow[] = files.map((file) => reading(file));
    const { written, kept } = await writeNewWorkspace(root, rows, {
      name: 'Heron: the walking one',
      timeZone: 'Europe/Berlin',
    });
    expect(kept).toEqual([]);
    expect(written.at(-1)).toBe('stonehand.yaml');
    expect(await loadWorkspaceProblems(root)).toEqual([]);
    const workspace = await loadWorkspace(root);
    expect(workspace).toMatchObject({ name: 'Heron: the walking one', timeZone: 'Europe/Berlin', assumed: [] });
    const ids: string[] = [];
    const visit = (assembly: (typeof workspace.assemblies)[number]): void => {
      ids.push(...assembly.parts.map((part) => part.id));
      for (const child of assembly.children) visit(child.assembly);
    };
    for (const assembly of workspace.assemblies) visit(assembly);
    expect(ids.sort()).toEqual([
      'heron/head/Auge-links',
      'heron/head/skull',
      'heron/head/skull-2',
      'heron/legs/left/shin',
      'stand',
    ]);
  });

  test('without meshes in the root its folders stand side by side', async () => {
    const root = await folderWith({ 'a/one.stl': '', 'b/two.stl': '' });
    await writeNewWorkspace(root, [reading('a/one.stl'), reading(join(root, 'b/two.stl'))]);
    expect((await loadWorkspace(root)).assemblies.map((assembly) => assembly.id)).toEqual(['a', 'b']);
  });

  test('states units that are not mm, names equal meshes and files that could not be read', async () => {
    const root = await folderWith({ 'one.stl': '', 'copy.stl': '', 'torn.stl': '' });
    await writeNewWorkspace(root, [
      reading('one.stl', { unit: 'inch', unitFrom: 'stated', meshHash: 'x' }),
      reading('copy.stl', { unit: 'inch', unitFrom: 'file', meshHash: 'x' }),
      {
        file: 'torn.stl',
        error: { code: 'MESH_TRUNCATED', message: 'torn.stl: ends\nearly', remedy: 'Export it again.' },
      },
    ]);
    const text = await readFile(join(root, 'assembly.yaml'), 'utf8');
    expect(text).toContain('  one:\n    mesh: one.stl\n    unit: inch\n');
    expect(text).toContain('  copy:\n    mesh: copy.stl\n    # the same mesh as one.stl');
    expect(text).toContain('  # torn.stl could not be read: torn.stl: ends early\n');
    expect(await loadWorkspaceProblems(root)).toEqual([]);
  });

  test('takes the beds that are known, round ones too', async () => {
    const root = await folderWith({ 'one.stl': '' });
    await writeNewWorkspace(root, [reading('one.stl')], { beds: { bench: '220x220x250', tower: 'round:250x300' } });
    const { printers } = await loadWorkspace(root);
    expect(printers.map((printer) => [printer.id, printer.plateSizeMm])).toEqual([
      ['bench', [220, 220]],
      ['tower', [250, 250]],
    ]);
  });

  test('overwrites nothing, and refuses a folder that is a workspace', async () => {
    const root = await folderWith({ 'one.stl': '', 'shop/printers.yaml': 'mine: { volume: 180x180x180 }\n' });
    const { kept } = await writeNewWorkspace(root, [reading('one.stl')]);
    expect(kept).toEqual(['shop/printers.yaml']);
    expect((await loadWorkspace(root)).printers.map((printer) => printer.id)).toEqual(['mine']);
    await expect(writeNewWorkspace(root, [])).rejects.toMatchObject({ code: 'USAGE' });
  });

  test('refuses meshes of elsewhere', async () => {
    const root = await folderWith({});
    await expect(writeNewWorkspace(root, [reading('../one.stl')])).rejects.toMatchObject({ code: 'FILE_OUTSIDE' });
  });
});
