import { chmod, readdir, readFile, readlink, stat, symlink } from 'node:fs/promises';
import { join } from 'node:path';
import { replaceFile } from '@stonehand/shop';
import { expect, test } from 'vitest';
import { folderWith } from './folder.ts';

test('the file holds the new bytes, keeps its mode, and nothing is left beside it', async () => {
  const root = await folderWith({ 'plan.json': 'old' });
  await chmod(join(root, 'plan.json'), 0o640);
  await replaceFile(join(root, 'plan.json'), new Uint8Array([0x6e, 0x65, 0x77]));
  expect(await readFile(join(root, 'plan.json'), 'utf8')).toBe('new');
  expect((await stat(join(root, 'plan.json'))).mode & 0o777).toBe(0o640);
  expect(await readdir(root)).toEqual(['plan.json']);
});

test('a link stays a link: what it points at is replaced', async () => {
  const root = await folderWith({ 'real.json': 'old' });
  await symlink('real.json', join(root, 'link.json'));
  await replaceFile(join(root, 'link.json'), 'new');
  expect(await readlink(join(root, 'link.json'))).toBe('real.json');
  expect(await readFile(join(root, 'real.json'), 'utf8')).toBe('new');
});

test('when it cannot be put in place, the old one stays and nothing is left beside it', async () => {
  const root = await folderWith({ 'folder/inside': '' });
  await expect(replaceFile(join(root, 'folder'), 'new')).rejects.toThrow();
  expect(await readdir(root)).toEqual(['folder']);
  await expect(replaceFile(join(root, 'nowhere/plan.json'), 'new')).rejects.toThrow();
});
