import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, test } from 'vitest';
import { freshFolder, ROOT, stonehand } from './helpers/stonehand.ts';

const cube = readFileSync(join(ROOT, 'parts/heron/neck/neck-socket.stl'));
let folder = '';
beforeEach(() => {
  folder = freshFolder('broken');
});

/** Two lines on standard error: what and where, then what to do; no stack, nothing on standard output. */
function expectOneComplaint(ran: { code: number; out: string; err: string }, what: RegExp): void {
  const lines = ran.err.trimEnd().split('\n');
  expect(ran).toMatchObject({ code: 2, out: '' });
  expect(lines).toHaveLength(2);
  expect(lines[0]).toMatch(what);
  expect(lines[1]).toMatch(/^ {2}\S/);
}

describe('a broken mesh gives one clear line, exit code 2 and nothing written', () => {
  const meshes: readonly (readonly [string, () => Uint8Array, RegExp])[] = [
    ['empty file', () => new Uint8Array(0), /empty\.stl: .*(empty|no )/],
    ['truncated file', () => cube.subarray(0, 50_000), /empty\.stl: .*ends/],
    ['a count of four thousand million', () => withCount(0xf0000000), /empty\.stl: .*4026531840/],
    ['a coordinate that is not a number', () => withFloat(Number.NaN), /empty\.stl: .*(triangle|facet)/],
    ['text behind a binary header', () => textBehindBinaryHeader(), /empty\.stl: /],
  ];
  test.each(meshes)('%s', (_name, bytes, what) => {
    writeFileSync(join(folder, 'empty.stl'), bytes());
    const before = readdirSync(folder);
    const measured = stonehand(['measure', 'empty.stl', '--json'], { cwd: folder });
    const [row] = JSON.parse(measured.out);
    expect(measured.code).toBe(2);
    expect(row.error.message).toMatch(what);
    expect(row.error.remedy).not.toBe('');
    expectOneComplaint(stonehand(['plan', '.', '--from', '2026-06-05T18:00+02:00'], { cwd: folder }), what);
    expect(readdirSync(folder)).toEqual(before);
  });
});

describe('a broken workspace gives one clear line with file, line and column, exit code 2 and nothing written', () => {
  const faults: readonly (readonly [string, (root: string) => void, RegExp])[] = [
    [
      'a mesh that is missing',
      replaceIn('heron/head/assembly.yaml', 'mesh: skull.stl', 'mesh: skul.stl'),
      /heron\/head\/assembly\.yaml:\d+:\d+ .*skul\.stl/,
    ],
    [
      'an unknown key',
      replaceIn('heron/head/assembly.yaml', 'mesh: skull.stl', 'mesh: skull.stl\n    quantiy: 2'),
      /heron\/head\/assembly\.yaml:\d+:\d+ .*quantiy/,
    ],
    [
      'a negative quantity',
      replaceIn('heron/head/assembly.yaml', 'mesh: skull.stl', 'mesh: skull.stl\n    quantity: -2'),
      /heron\/head\/assembly\.yaml:\d+:\d+ .*-2/,
    ],
    [
      'a mesh outside the workspace',
      replaceIn('heron/head/assembly.yaml', 'mesh: skull.stl', 'mesh: ../../../outside.stl'),
      /heron\/head\/assembly\.yaml:\d+:\d+ .*outside/,
    ],
    [
      'YAML that cannot be parsed',
      replaceIn('heron/head/assembly.yaml', 'mesh: skull.stl', 'mesh: "skull.stl'),
      /heron\/head\/assembly\.yaml:\d+:\d+ /,
    ],
  ];
  test.each(faults)('%s', (_name, spoil, what) => {
    const root = join(folder, 'parts');
    mkdirSync(root);
    cpSync(join(ROOT, 'parts'), root, { recursive: true, filter: (path) => !path.includes('.stonehand') });
    writeFileSync(join(folder, 'outside.stl'), cube);
    spoil(root);
    expectOneComplaint(stonehand(['plan', '--from', '2026-06-05T18:00+02:00'], { cwd: root }), what);
    expect(existsSync(join(root, 'reports'))).toBe(false);
    expect(existsSync(join(root, '.stonehand', 'results'))).toBe(false);
  });
});

function replaceIn(file: string, from: string, to: string): (root: string) => void {
  return (root) => {
    const path = join(root, file);
    const text = readFileSync(path, 'utf8');
    if (!text.includes(from)) throw new Error(`${file} has no "${from}"`);
    writeFileSync(path, text.replace(from, to));
  };
}

function withCount(count: number): Uint8Array {
  const bytes = Uint8Array.from(cube);
  new DataView(bytes.buffer).setUint32(80, count, true);
  return bytes;
}

function withFloat(value: number): Uint8Array {
  const bytes = Uint8Array.from(cube);
  new DataView(bytes.buffer).setFloat32(84 + 12, value, true);
  return bytes;
}

function textBehindBinaryHeader(): Uint8Array {
  const header = new Uint8Array(84);
  header.set(new TextEncoder().encode('binary header'));
  const text = new TextEncoder().encode(
    'facet normal 0 0 1\n outer loop\n vertex 0 0 0\n vertex 1 0 0\n vertex 0 1 0\n endloop\nendfacet\nendsolid\n',
  );
  const bytes = new Uint8Array(84 + text.length);
  bytes.set(header);
  bytes.set(text, 84);
  return bytes;
}
