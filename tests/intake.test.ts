import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Suspicion } from '@stonehand/engine';
import { transformMesh, writeStl } from '@stonehand/mesh';
import { strToU8, zipSync } from 'fflate';
import { beforeAll, describe, expect, test } from 'vitest';
import { blockOf, shuffled, writeMessyDownload } from './helpers/messy-download.ts';
import { freshFolder, type Ran, ROOT, stonehand } from './helpers/stonehand.ts';

type InitJson = Readonly<{
  unpacked: readonly string[];
  readings: readonly Readonly<{ file: string; error?: Readonly<{ code: string; message: string }> }>[];
  suspicions: readonly Suspicion[];
}>;

const initialise = (folder: string): InitJson => JSON.parse(stonehand(['init', folder, '--json']).out);
const inShort = (suspicions: readonly Suspicion[]): string[][] => suspicions.map(({ kind, files }) => [kind, ...files]);

describe('a messy download', () => {
  const folder = freshFolder('messy');
  let result: InitJson;
  let of: (file: string) => string;
  beforeAll(() => {
    writeMessyDownload(folder);
    result = initialise(folder);
    of = (file) =>
      result.suspicions
        .filter(({ files }) => files.includes(file))
        .map(({ reason, confirm }) => `${reason} ${confirm}`)
        .join(' ');
  });

  test('raises exactly the suspicions that are true of it', () => {
    expect(inShort(result.suspicions)).toEqual([
      ['unreadable', 'torn.stl'],
      ['unreadable', 'half.zip'],
      ['unit', 'gauge.stl'],
      ['unit', 'plate-us.stl', 'plate.stl'],
      ['duplicate', 'download/wing/hub turned.ply', 'hub.obj', 'hub_x4.stl'],
      ['mirrorPair', 'download/wing/more parts/fin-left.stl', 'download/wing/more parts/fin-right.stl'],
      ['revisions', 'Cowl v1.stl', 'download/wing/more parts/Cowl v2.stl'],
      ['revisions', 'strut.stl', 'download/wing/strut (1).stl'],
      ['quantity', 'clip (2 of).stl'],
      ['quantity', 'hub_x4.stl'],
      ['missing', 'README.md'],
      ['missing', 'download/parts.txt'],
    ]);
  });

  test('says why, in figures, and what to do', () => {
    expect(of('plate-us.stl')).toContain('Times 25.4');
    expect(of('plate-us.stl')).toContain('unit: in');
    // 6 % higher with the same base.
    expect(of('Cowl v1.stl')).toContain('volume +6.0 %, surfaces up to 2.1 mm apart');
    expect(of('Cowl v1.stl')).toContain('Keep download/wing/more parts/Cowl v2.stl');
    expect(of('hub_x4.stl')).toContain('quantity: 4');
    expect(of('clip (2 of).stl')).toContain('quantity: 2');
    expect(of('README.md')).toContain('Line 3 names "rudder.stl"');
    expect(of('download/parts.txt')).toContain('Line 5 names "tail hook"');
  });

  test('archives in archives are unpacked beside the workspace; the damaged are named and left out', () => {
    expect([...result.unpacked].sort()).toEqual([
      'download/parts.txt',
      'download/wing/hub turned.ply',
      'download/wing/more parts/Cowl v2.stl',
      'download/wing/more parts/fin-left.stl',
      'download/wing/more parts/fin-right.stl',
      'download/wing/strut (1).stl',
    ]);
    expect(existsSync(join(folder, 'download/wing/notes.pdf'))).toBe(false);
    const faults = result.readings.flatMap(({ file, error }) => (error === undefined ? [] : [[file, error.code]]));
    expect(faults).toEqual([
      ['torn.stl', 'MESH_TRUNCATED'],
      ['half.zip', 'MESH_MALFORMED'],
    ]);
    expect(readFileSync(join(folder, 'assembly.yaml'), 'utf8')).toContain('# torn.stl could not be read: torn.stl:');
  });

  test('nothing of it is applied: every part has the quantity and unit of a silent file', () => {
    const text = readFileSync(join(folder, 'assembly.yaml'), 'utf8');
    expect(text).toContain('hub_x4.stl');
    expect(text).not.toMatch(/^\s*(quantity|unit|mirror):/m);
  });

  test('check asks the same again, and no longer what has been settled', () => {
    const file = join(folder, 'assembly.yaml');
    const before = readFileSync(file, 'utf8');
    const after = before
      .replace('mesh: hub_x4.stl\n', 'mesh: hub_x4.stl\n    quantity: 4\n')
      .replace('mesh: plate-us.stl\n', 'mesh: plate-us.stl\n    unit: in\n')
      .replace(/ {2}Cowl-v1:\n {4}mesh: Cowl v1.stl\n/, '');
    expect(after.length).toBe(
      before.length + '    quantity: 4\n    unit: in\n'.length - '  Cowl-v1:\n    mesh: Cowl v1.stl\n'.length,
    );
    writeFileSync(file, after);
    const { suspicions }: InitJson = JSON.parse(stonehand(['check', folder, '--json']).out);
    expect(inShort(suspicions)).toEqual([
      ['unit', 'gauge.stl'],
      ['duplicate', 'hub.obj', 'hub_x4.stl', 'download/wing/hub turned.ply'],
      // Rightly read, the one in inches is a copy.
      ['duplicate', 'plate-us.stl', 'plate.stl'],
      ['mirrorPair', 'download/wing/more parts/fin-left.stl', 'download/wing/more parts/fin-right.stl'],
      ['revisions', 'strut.stl', 'download/wing/strut (1).stl'],
      ['quantity', 'clip (2 of).stl'],
      ['missing', 'README.md'],
      ['missing', 'download/parts.txt'],
    ]);
  });
});

describe('for people', () => {
  let ran: Ran;
  beforeAll(() => {
    const folder = freshFolder('pair');
    const block = blockOf([30, 20, 10], 3);
    writeFileSync(join(folder, 'arm.stl'), writeStl(block, 'arm'));
    writeFileSync(join(folder, 'arm other side.stl'), writeStl(transformMesh(block, MIRROR), 'arm'));
    writeFileSync(join(folder, 'dial.stl'), writeStl(blockOf([3.1875, 2.5, 0.4375], 7), 'dial'));
    ran = stonehand(['init', folder]);
  });

  test('a suspicion is a line below the table, with what to do in the next', () => {
    expect(ran.code).toBe(0);
    expect(ran.out).toContain(
      '? arm other side.stl, arm.stl: Each is the mirror image of the other.\n  Nothing to do if both are wanted',
    );
  });

  test('what the table says already is not said twice', () => {
    expect(ran.out.split('The numbers look like inches').length - 1).toBe(1);
  });
});

describe('a clean folder', () => {
  const legs = join(ROOT, 'parts/heron/legs');
  const copyOf = (): string => {
    const folder = freshFolder('legs');
    for (const file of readdirSync(legs).filter((name) => name.endsWith('.stl')))
      copyFileSync(join(legs, file), join(folder, file));
    return folder;
  };

  test('raises what is true of it only: a left and a right shin', () => {
    expect(inShort(initialise(copyOf()).suspicions)).toEqual([['mirrorPair', 'shin-left.stl', 'shin-right.stl']]);
  });

  test('one copy under another name adds that and nothing else', () => {
    const folder = copyOf();
    copyFileSync(join(legs, 'thigh.stl'), join(folder, 'upper leg.stl'));
    expect(inShort(initialise(folder).suspicions)).toEqual([
      ['duplicate', 'thigh.stl', 'upper leg.stl'],
      ['mirrorPair', 'shin-left.stl', 'shin-right.stl'],
    ]);
  });

  test('every part of the demo together: copies, revisions and units are nowhere suspected', () => {
    const folder = freshFolder('heron');
    const from = join(ROOT, 'parts/heron');
    for (const file of readdirSync(from, { recursive: true, encoding: 'utf8' })) {
      if (/\.(stl|obj|3mf|glb)$/.test(file)) copyFileSync(join(from, file), join(folder, basename(file)));
    }
    expect(inShort(initialise(folder).suspicions)).toEqual([['mirrorPair', 'shin-left.stl', 'shin-right.stl']]);
  });
});

describe('marks in names', () => {
  // One shape a file, so that nothing but the name can speak.
  const suspected = (names: readonly string[]): string[][] => {
    const folder = freshFolder('names');
    for (const [at, name] of names.entries())
      writeFileSync(join(folder, name), writeStl(blockOf([20 + 3 * at, 15, 10], at), name));
    return inShort(initialise(folder).suspicions);
  };

  test('quantities are read however people write them', () => {
    const names = [
      'GuideX3.stl',
      'a x4.stl',
      'b-4x.stl',
      'c_qty3.stl',
      'd (2 of).stl',
      'e 6pcs.stl',
      'f_×2.stl',
      'g (3x).stl',
    ];
    expect(suspected(names)).toEqual(names.map((name) => ['quantity', name]));
  });

  test('sizes, screws, single copies and pieces of a set are no quantities', () => {
    expect(
      suspected(['peg 40x20x5.stl', 'm3x12.stl', 'pin 40 x 20.stl', 'lid x1.stl', 'key 2 of 5.stl', 'rod-x1.5.stl']),
    ).toEqual([]);
  });

  test('older comes before newer, by words, versions, revisions and dates', () => {
    const folder = freshFolder('ages');
    const base = blockOf([40, 30, 20], 5);
    const names = [
      ['arm-old', 'arm'],
      ['beak', 'beak-new'],
      ['claw v9', 'claw v10'],
      ['disc rev-a', 'disc rev-c'],
      ['eye 2026-01-30', 'eye 2026-02-01'],
      ['fork', 'fork_r3'],
    ] as const;
    for (const [at, pair] of names.entries()) {
      for (const [n, name] of pair.entries()) {
        const shape = transformMesh(base, [1 + 0.2 * at, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1 + 0.03 * n, 0]);
        writeFileSync(join(folder, `${name}.stl`), writeStl(shape, name));
      }
    }
    expect(inShort(initialise(folder).suspicions)).toEqual(
      names.map(([older, newer]) => ['revisions', `${older}.stl`, `${newer}.stl`]),
    );
  });

  test('the same shape under two versions is a copy, not a revision', () => {
    const folder = freshFolder('versions');
    const base = blockOf([40, 30, 20], 5);
    writeFileSync(join(folder, 'arm v1.stl'), writeStl(base, 'arm'));
    writeFileSync(join(folder, 'arm v2.stl'), writeStl(shuffled(base), 'arm'));
    expect(inShort(initialise(folder).suspicions)).toEqual([['duplicate', 'arm v1.stl', 'arm v2.stl']]);
  });
});

describe('hostile archives', () => {
  const mesh = writeStl(blockOf([30, 20, 10], 1), 'part');

  test('a path that leads out is refused, in the archive and in one inside it, and nothing is written outside', () => {
    const around = freshFolder('hostile');
    const folder = join(around, 'in/here');
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, 'good.stl'), mesh);
    writeFileSync(join(folder, 'out.zip'), zipSync({ '../../evil.stl': mesh }));
    writeFileSync(join(folder, 'deep.zip'), zipSync({ 'a.zip': zipSync({ '../../../evil.stl': mesh }) }));
    writeFileSync(join(folder, 'root.zip'), zipSync({ '/tmp/evil.stl': mesh }));
    const { readings, unpacked } = initialise(folder);
    expect(readings.filter(({ error }) => error !== undefined).map(({ file }) => file)).toEqual([
      'deep.zip > a.zip',
      'out.zip',
      'root.zip',
    ]);
    expect(unpacked).toEqual([]);
    const written = readdirSync(around, { recursive: true, encoding: 'utf8' }).filter((file) => file.includes('evil'));
    expect(written).toEqual([]);
  });

  test('names that a file system takes for something else become plain ones', () => {
    const folder = freshFolder('odd-names');
    const parts = { 'left:b?.stl': 1, 'con.stl': 2, 'trailing. /c.stl': 3, [`${'long'.repeat(60)}.stl`]: 4 };
    const entries = Object.entries(parts).map(
      ([name, seed]) => [name, writeStl(blockOf([30, 20, 10], seed), 'part')] as const,
    );
    writeFileSync(join(folder, 'odd.zip'), zipSync(Object.fromEntries(entries)));
    expect([...initialise(folder).unpacked].sort()).toEqual([
      'odd/_con.stl',
      'odd/left-b-.stl',
      `odd/${'long'.repeat(24)}.stl`,
      'odd/trailing/c.stl',
    ]);
  });

  test('a link where the archive would be unpacked is not followed, a file that is there is not overwritten', () => {
    const around = freshFolder('links');
    const folder = join(around, 'here');
    mkdirSync(join(around, 'elsewhere'));
    mkdirSync(join(folder, 'kept'), { recursive: true });
    writeFileSync(join(folder, 'good.stl'), mesh);
    symlinkSync(join(around, 'elsewhere'), join(folder, 'linked'));
    writeFileSync(join(folder, 'linked.zip'), zipSync({ 'part.stl': mesh }));
    writeFileSync(join(folder, 'kept/notes.stl'), strToU8('mine'));
    writeFileSync(join(folder, 'kept.zip'), zipSync({ 'notes.stl': mesh }));
    const { unpacked, readings } = initialise(folder);
    expect(readdirSync(join(around, 'elsewhere'))).toEqual([]);
    expect(readings.find(({ file }) => file.startsWith('linked.zip'))?.error?.code).toBe('FILE_OUTSIDE');
    expect(readFileSync(join(folder, 'kept/notes.stl'), 'utf8')).toBe('mine');
    expect(unpacked).toEqual(['kept/notes~2.stl']);
  });

  test('a damaged archive inside another costs nothing but itself', () => {
    const folder = freshFolder('torn-inside');
    const whole = zipSync({ 'lost.stl': mesh });
    const parts = { 'arm.stl': mesh, 'more/torn.zip': whole.subarray(0, whole.length >> 1) };
    writeFileSync(join(folder, 'download.zip'), zipSync(parts));
    const { unpacked, readings } = initialise(folder);
    expect(unpacked).toEqual(['download/arm.stl']);
    expect(readings.map(({ file, error }) => [file, error?.code])).toEqual([
      ['download/arm.stl', undefined],
      ['download.zip > more/torn.zip', 'MESH_MALFORMED'],
    ]);
  });

  test('a folder with nothing but a damaged archive fails by that archive', () => {
    const folder = freshFolder('damaged');
    const whole = zipSync({ 'part.stl': mesh });
    writeFileSync(join(folder, 'half.zip'), whole.subarray(0, whole.length >> 1));
    const { code, err } = stonehand(['init', folder]);
    expect(code).toBe(2);
    expect(err).toContain('half.zip: the ZIP archive is damaged');
  });

  test('a folder that is a workspace already is left as it is', () => {
    const folder = freshFolder('twice');
    writeFileSync(join(folder, 'good.stl'), mesh);
    expect(stonehand(['init', folder]).code).toBe(0);
    writeFileSync(join(folder, 'more.zip'), zipSync({ 'part.stl': mesh }));
    expect(stonehand(['init', folder]).code).toBe(2);
    expect(existsSync(join(folder, 'more'))).toBe(false);
  });
});

const MIRROR = [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
