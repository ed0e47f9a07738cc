import { gzipSync } from 'node:zlib';
import { bytesSource, type MeshFile, massProperties, openArchive, readMesh } from '@stonehand/mesh';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';

const OBJ = strToU8('v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n');
const PLY = strToU8(
  'ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement face 4\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n0 0 1\n3 0 2 1\n3 0 1 3\n3 0 3 2\n3 1 2 3\n',
);

function read(name: string, bytes: Uint8Array): Promise<MeshFile> {
  return readMesh(bytesSource(name, bytes));
}

describe('compressed files', () => {
  test('gzip of any format, of several members, and a ZIP archive in a ZIP archive', async () => {
    const twoMembers = new Uint8Array([...gzipSync(PLY.subarray(0, 100)), ...gzipSync(PLY.subarray(100))]);
    const nested = zipSync({
      'a/inner.zip': zipSync({ 'b/box.OBJ': OBJ, '__MACOSX/b/._box.obj': OBJ, 'read.me': OBJ }),
    });
    const cases: readonly (readonly [string, Uint8Array, string])[] = [
      ['a.obj.gz', gzipSync(OBJ), 'OBJ'],
      ['a.gz', gzipSync(PLY), 'PLY text'],
      ['a.ply.gz', twoMembers, 'PLY text'],
      ['a.zip', zipSync({ 'foot.ply': PLY, 'licence.txt': strToU8('free') }), 'PLY text'],
      ['a.zip', zipSync({ 'foot.ply.gz': gzipSync(PLY) }, { level: 0 }), 'PLY text'],
      ['download', nested, 'OBJ'],
    ];
    for (const [name, bytes, format] of cases) {
      const file = await read(name, bytes);
      expect([name, file.format]).toEqual([name, format]);
      expect(massProperties(file.mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
    }
  });

  test('several meshes are not guessed among: their names are told', async () => {
    const several = zipSync({ 'left.stl': OBJ, 'right.stl': OBJ });
    await expect(read('a.zip', several)).rejects.toMatchObject({
      code: 'FORMAT_UNKNOWN',
      message: 'a.zip: the archive holds 2 meshes (left.stl, right.stl), not one',
    });
    await expect(read('a.zip', zipSync({ 'a.txt': OBJ, 'b.txt': OBJ }))).rejects.toThrow(/holds no mesh/);
    await expect(read('a.zip', zipSync({}))).rejects.toThrow(/holds no mesh/);
  });

  test('messages name the file inside the archive', async () => {
    const bad = zipSync({ 'foot.obj': strToU8('v 0 0 0\nf 1 2 3\n') });
    await expect(read('a.zip', bad)).rejects.toThrow(/^a\.zip > foot\.obj: line 2: /);
    await expect(read('in/a.obj.gz', gzipSync(strToU8('v 0 0 0\nf 1 2 3\n')))).rejects.toThrow(
      /^in\/a\.obj\.gz > a\.obj: /,
    );
  });
});

describe('looking through an archive', () => {
  test('the files of nested archives are listed with their way, and each can be read', async () => {
    const inner = zipSync({ 'left foot.obj': OBJ, '.hidden': OBJ });
    const outer = zipSync({ 'readme.txt': strToU8('hello'), 'more/feet.zip': inner, 'leg.ply.gz': gzipSync(PLY) });
    const entries = await openArchive(bytesSource('download.zip', outer));
    expect(entries.map(({ name, isMesh }) => [name, isMesh])).toEqual([
      ['readme.txt', false],
      ['more/feet.zip > left foot.obj', true],
      ['leg.ply.gz', true],
    ]);
    for (const entry of entries.filter(({ isMesh }) => isMesh)) {
      const { mesh } = await readMesh(await entry.open());
      expect(massProperties(mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
    }
  });

  test('a damaged archive inside is named in place of its entries and costs no other', async () => {
    const inner = zipSync({ 'left.obj': OBJ });
    const outer = zipSync({
      'leg.obj': OBJ,
      'more/torn.zip': inner.subarray(0, inner.length >> 1),
      'more/evil.zip': zipSync({ '../../evil.obj': OBJ }),
      'more/whole.zip': inner,
    });
    const entries = await openArchive(bytesSource('download.zip', outer));
    expect(entries.map(({ name, isMesh, fault }) => [name, isMesh, fault?.code])).toEqual([
      ['leg.obj', true, undefined],
      ['more/torn.zip', false, 'MESH_MALFORMED'],
      ['more/evil.zip', false, 'MESH_MALFORMED'],
      ['more/whole.zip > left.obj', true, undefined],
    ]);
    await expect(entries[1]!.open()).rejects.toThrow(/^download\.zip > more\/torn\.zip: .*damaged/);
  });

  test('one bound holds for all entries together, and paths that lead out are refused', async () => {
    const heavy = new Uint8Array(10e6).fill(32);
    const entries = await openArchive(bytesSource('a.zip', zipSync({ 'a.obj': heavy, 'b.obj': heavy })));
    await entries[0]!.open();
    await expect(entries[1]!.open()).rejects.toMatchObject({ code: 'MESH_TOO_LARGE' });
    await expect(openArchive(bytesSource('a.zip', zipSync({ '../a.obj': OBJ })))).rejects.toThrow(/leads out of it/);
  });
});

describe('progress', () => {
  test('the share of bytes read rises to 1 and never falls, for plain and packed files', async () => {
    const many = strToU8(new TextDecoder().decode(OBJ) + '# nothing more\n'.repeat(200_000));
    const packed = zipSync({ 'a.obj': many }, { level: 0 });
    for (const [name, bytes] of [
      ['a.obj', many],
      ['a.zip', packed],
      ['a.obj.gz', gzipSync(many)],
    ] as const) {
      const told: number[] = [];
      await readMesh(bytesSource(name, bytes), { onProgress: (share) => told.push(share) });
      expect(told.at(-1)).toBe(1);
      expect(told.every((share, i) => share >= 0 && share <= 1 && (i === 0 || share >= told[i - 1]!))).toBe(true);
      if (!name.endsWith('.gz')) expect(told.length).toBeGreaterThan(4);
    }
  });
});

describe('formats that are not read', () => {
  const step = "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n";
  const iges = `${'made by hand'.padEnd(72)}S      1\n`;
  for (const [name, text] of [
    ['a.step', step],
    ['a.stp', step],
    ['part', step],
    ['a.igs', iges],
    ['part.txt', iges],
    ['a.IGES', 'x'],
  ] as const) {
    test(`${name} with ${text.slice(0, 12)} is told what to export instead`, async () => {
      const error = await read(name, strToU8(text)).catch((reason: unknown) => reason);
      expect(error).toMatchObject({ code: 'FORMAT_UNKNOWN', remedy: expect.stringContaining('STL or 3MF instead') });
      expect((error as Error).message).toMatch(/CAD exchange file/);
    });
  }
});
