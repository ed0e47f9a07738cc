import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';

const root = join(import.meta.dirname, '..');
const order = readOrder();

describe('packages import only packages lower in the list of DEVELOPERS.md', () => {
  test('every package folder stands in the list, and every name of the list has a folder', () => {
    expect(readdirSync(join(root, 'packages')).sort()).toEqual([...order].sort());
  });

  test.each(order)('%s names only lower packages, in package.json, in its references and in its sources', (name) => {
    const lower = new Set(order.slice(0, order.indexOf(name)));
    const folder = join(root, 'packages', name);
    const manifest = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
    const declared = Object.keys({ ...manifest.dependencies, ...manifest.devDependencies })
      .filter((dependency) => dependency.startsWith('@stonehand/'))
      .map((dependency) => dependency.slice('@stonehand/'.length));
    const references = JSON.parse(readFileSync(join(folder, 'tsconfig.json'), 'utf8')).references.map(
      (reference: { path: string }) => reference.path.replace('../', ''),
    );
    const imported = sourcesOf(join(folder, 'src')).flatMap(importsOf);
    expect(declared.filter((dependency) => !lower.has(dependency))).toEqual([]);
    expect(imported.filter((dependency) => !lower.has(dependency))).toEqual([]);
    const tested = sourcesOf(join(folder, 'test')).flatMap(importsOf);
    const needed = new Set(imported);
    // Declared, referenced and imported are the same set: a reference without an import keeps a dead edge alive. Tests may use
    // lower packages too, as development dependencies.
    expect([...references].sort()).toEqual([...needed].sort());
    for (const dependency of tested) if (dependency !== name) needed.add(dependency);
    expect([...new Set(declared)].sort()).toEqual([...needed].sort());
  });
});

test('the lock file names no host', () => {
  const lock = readFileSync(join(root, 'pnpm-lock.yaml'), 'utf8');
  expect(lock.split('\n').filter((line) => line.includes('://'))).toEqual([]);
  expect(Object.keys(parse(lock).importers).length).toBeGreaterThan(order.length);
});

function readOrder(): string[] {
  const text = readFileSync(join(root, 'DEVELOPERS.md'), 'utf8');
  const block = /```packages\n([\s\S]*?)```/.exec(text);
  if (block === null) throw new Error('DEVELOPERS.md has lost its ```packages list');
  return block[1]!
    .trim()
    .split('\n')
    .map((line) => line.split(/\s+/)[0]!);
}

function importsOf(file: string): string[] {
  return [...readFileSync(file, 'utf8').matchAll(/(?:from|import\()\s*'(@stonehand\/[^']+)'/g)].map((match) =>
    match[1]!.slice('@stonehand/'.length),
  );
}

function sourcesOf(folder: string): string[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts') && !file.endsWith('.d.ts'))
    .map((file) => join(folder, file));
}
