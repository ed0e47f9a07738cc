import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Mesh } from '@stonehand/model';
import { planNames, plate3mf, prismsMesh } from '@stonehand/report';
import { strFromU8, unzipSync } from 'fflate';
import { SaxesParser } from 'saxes';
import { describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from '../packages/report/test/fixture.ts';
import { rectangle } from './arbitraries/printers.ts';
import { freshFolder } from './helpers/stonehand.ts';

const SCRIPT = join(import.meta.dirname, 'oracles/read-3mf.py');
// Where the library lies outside the system's folders (an unpacked Debian package), the environment names it.
const LIBRARY = process.env['LIB3MF'];
const hasLibrary = spawnSync('python3', [SCRIPT, '', ...(LIBRARY === undefined ? [] : [LIBRARY])]).status === 0;

const names = planNames(WEEKEND);
const plate = WEEKEND.plates.find(({ id }) => id === 'p7')!;
const pieceIds = [...new Set(plate.placed.map(({ copyId }) => copyId.split('#')[0]!))];
// A hollow column and a solid one, stacked: as much like computed support as needed to see that it arrives.
const hole = [...rectangle(4, 4, 8, 8)].reverse();
const SUPPORT = prismsMesh([
  { rings: [rectangle(2, 2, 12, 12), hole], fromMm: 0, toMm: 6 },
  { rings: [rectangle(3, 3, 11, 11)], fromMm: 6, toMm: 8 },
]);
const SUPPORT_MM3 = (100 - 16) * 6 + 64 * 2;
const { bytes } = plate3mf({
  plate,
  meshes: MESHES,
  supports: new Map([[pieceIds[0]!, SUPPORT]]),
  piece: names.piece,
  name: names.pieceName,
  materials: WEEKEND.materials,
});

type Item = Readonly<{
  name: string;
  type: string;
  partNumber: string;
  transform: readonly number[];
  triangles: number;
  volumeMm3: number;
}>;

/** What the file must hold, from the plan and the meshes alone. */
const WANTED: readonly Item[] = plate.placed.flatMap(({ copyId, xMm, yMm, turnDeg }) => {
  const pieceId = copyId.split('#')[0]!;
  const [c, s] = [Math.cos((turnDeg * Math.PI) / 180), Math.sin((turnDeg * Math.PI) / 180)];
  // Row vectors: p' = p · M, the shift last (core specification 3.3).
  const transform = [c, s, 0, -s, c, 0, 0, 0, 1, xMm, yMm, 0];
  const mesh = MESHES.get(pieceId)!;
  const own = { partNumber: copyId, transform, triangles: mesh.triangles.length / 3, volumeMm3: volumeOf(mesh) };
  const name = names.pieceName(pieceId);
  const under = {
    ...own,
    name: `support of ${name}`,
    type: 'support',
    partNumber: `${copyId} support`,
    triangles: SUPPORT.triangles.length / 3,
    volumeMm3: SUPPORT_MM3,
  };
  return [{ ...own, name, type: 'model' }, ...(pieceId === pieceIds[0] ? [under] : [])];
});

describe('a plate with support, read back by two readers that are not ours', () => {
  test('as plain XML (saxes, fflate): items, transforms, names, types, part numbers and volumes are those of the plan', () => {
    expectItems(itemsOfXml(bytes), 1e-9);
  });

  test('an object of type support refers to the base material and is closed prism by prism', () => {
    const xml = strFromU8(unzipSync(bytes)['3D/3dmodel.model']!);
    expect(xml).toMatch(/type="support" name="support of [^"]+" partnumber="[^"]+ support" pid="1" pindex="0"/);
    const edges = new Map<string, number>();
    const t = SUPPORT.triangles;
    for (let k = 0; k < t.length; k += 3)
      for (let i = 0; i < 3; i++) {
        const key = `${t[k + i]} ${t[k + ((i + 1) % 3)]}`;
        edges.set(key, (edges.get(key) ?? 0) + 1);
      }
    for (const [key, n] of edges) expect([n, edges.get(key.split(' ').reverse().join(' '))]).toEqual([1, 1]);
    expect(volumeOf(SUPPORT)).toBeCloseTo(SUPPORT_MM3, 9);
  });

  describe.skipIf(!hasLibrary)('lib3MF (skipped where Debian package lib3mf1 is not installed)', () => {
    test('reads the same items without a warning', () => {
      const file = join(freshFolder('plate-3mf'), 'plate.build.3mf');
      writeFileSync(file, bytes);
      const run = spawnSync('python3', [SCRIPT, file, ...(LIBRARY === undefined ? [] : [LIBRARY])], {
        encoding: 'utf8',
      });
      expect(run.stderr).toBe('');
      const read = JSON.parse(run.stdout) as { warnings: number; items: readonly Item[] };
      expect(read.warnings).toBe(0);
      // The library keeps single precision: 24 bits of numbers up to 300, and of volumes summed from them.
      expectItems(read.items, 2e-5);
    });
  });
});

function expectItems(items: readonly Item[], tolerance: number): void {
  expect(items.map(({ name, type, partNumber, triangles }) => ({ name, type, partNumber, triangles }))).toEqual(
    WANTED.map(({ name, type, partNumber, triangles }) => ({ name, type, partNumber, triangles })),
  );
  items.forEach((item, i) => {
    const want = WANTED[i]!;
    expect(Math.abs(item.volumeMm3 / want.volumeMm3 - 1)).toBeLessThan(tolerance * 10);
    item.transform.forEach((value, k) => {
      expect(Math.abs(value - want.transform[k]!)).toBeLessThan(tolerance * 10);
    });
  });
}

function itemsOfXml(zip: Uint8Array): Item[] {
  const objects = new Map<string, { name: string; type: string; positions: number[]; triangles: number[] }>();
  const items: Item[] = [];
  let object: ReturnType<typeof objects.get>;
  const parser = new SaxesParser();
  parser.on('opentag', ({ name, attributes: a }) => {
    const number = (key: string): number => Number(a[key]);
    if (name === 'object') {
      object = { name: a['name']!, type: a['type']!, positions: [], triangles: [] };
      objects.set(a['id']!, object);
    } else if (name === 'vertex') object!.positions.push(number('x'), number('y'), number('z'));
    else if (name === 'triangle') object!.triangles.push(number('v1'), number('v2'), number('v3'));
    else if (name === 'item') {
      const { name: called, type, positions, triangles } = objects.get(a['objectid']!)!;
      items.push({
        name: called,
        type,
        partNumber: a['partnumber']!,
        transform: a['transform']!.split(' ').map(Number),
        triangles: triangles.length / 3,
        volumeMm3: volumeOf({ positions, triangles }),
      });
    }
  });
  parser.write(strFromU8(unzipSync(zip)['3D/3dmodel.model']!)).close();
  return items;
}

function volumeOf({
  positions: p,
  triangles: t,
}: Readonly<{ positions: Mesh['positions'] | number[]; triangles: Mesh['triangles'] | number[] }>): number {
  let six = 0;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k]!, 3 * t[k + 1]!, 3 * t[k + 2]!];
    six +=
      p[a]! * (p[b + 1]! * p[c + 2]! - p[b + 2]! * p[c + 1]!) +
      p[a + 1]! * (p[b + 2]! * p[c]! - p[b]! * p[c + 2]!) +
      p[a + 2]! * (p[b]! * p[c + 1]! - p[b + 1]! * p[c]!);
  }
  return six / 6;
}
