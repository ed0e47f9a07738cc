import { bytesSource, type MeshFile, massProperties, readMesh } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { modelXml, packed, TETRAHEDRON } from './packages.ts';

// Build items after 3MF core 1.4.0, 3.4.3.1; row vectors, so a transform is listed column by column of ours.

const object = (id: number, name: string, type = 'model'): string =>
  `<object id="${id}" name="${name}" type="${type}">${TETRAHEDRON}</object>`;
const item = (id: number, transform = '1 0 0 0 1 0 0 0 1 0 0 0'): string =>
  `<item objectid="${id}" transform="${transform}"/>`;
const MOVED = '1 0 0 0 1 0 0 0 1 50 0 0';
const TURNED = '0 1 0 -1 0 0 0 0 1 0 30 0';
const MIRRORED = '-1 0 0 0 1 0 0 0 1 0 60 0';
const TWICE = '2 0 0 0 2 0 0 0 2 90 0 0';

function read(resources: string, build: string, wanted?: string): Promise<MeshFile> {
  const source = bytesSource('set.3mf', packed(modelXml(resources, build)));
  return readMesh(source, wanted === undefined ? {} : { item: wanted });
}

describe('a file that asks for several things to be built', () => {
  const resources = `${object(1, 'beak')}${object(2, 'jaw')}${object(3, 'prop', 'support')}`;
  const build = [
    item(1),
    item(3, MOVED),
    item(1, TURNED),
    item(2, MOVED),
    item(1, MIRRORED),
    item(1, TWICE),
    item(1, MOVED),
  ];

  test('copies that are moved and turned count as one thing; mirrored and rescaled ones are things of their own', async () => {
    const { items } = await read(resources, build.join(''));
    expect(items).toEqual([
      { item: '1', quantity: 3 },
      { item: 'jaw', quantity: 1 },
      { item: '5', quantity: 1 },
      { item: '6', quantity: 1 },
    ]);
  });

  test('each can be read by itself, and together they are the whole', async () => {
    const whole = massProperties((await read(resources, build.join(''))).mesh).volumeMm3;
    let sum = 0;
    for (const [wanted, volume, quantity] of [
      ['1', 1 / 6, 3],
      ['jaw', 1 / 6, 1],
      ['5', 1 / 6, 1],
      ['6', 8 / 6, 1],
    ] as const) {
      const one = massProperties((await read(resources, build.join(''), wanted)).mesh).volumeMm3;
      expect(one).toBeCloseTo(volume, 12);
      sum += quantity * one;
    }
    expect(sum).toBeCloseTo(whole, 12);
  });

  test('a number works beside a name, and a name that two things share does not stand for either', async () => {
    const byNumber = await read(resources, build.join(''), '4');
    const byName = await read(resources, build.join(''), 'jaw');
    expect(byNumber.mesh).toEqual(byName.mesh);
    expect(byName.names).toEqual(['jaw']);
    await expect(read(resources, build.join(''), 'beak')).rejects.toMatchObject({
      code: 'DATA_UNKNOWN',
      message: 'set.3mf: no item "beak" is to be built',
      remedy: 'The items are 1, jaw (4), 5, 6.',
    });
  });

  test('one item, or one item and its support, is no list; several copies of one thing are', async () => {
    expect((await read(resources, item(1) + item(3))).items).toBeUndefined();
    expect((await read(resources, item(1) + item(1, MOVED))).items).toEqual([{ item: 'beak', quantity: 2 }]);
  });

  test('a file of another format has no items', async () => {
    const source = bytesSource('a.obj', new TextEncoder().encode('v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n'));
    await expect(readMesh(source, { item: 'beak' })).rejects.toMatchObject({ code: 'DATA_UNKNOWN' });
  });
});
