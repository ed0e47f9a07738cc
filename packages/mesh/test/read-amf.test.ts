import { bytesSource, type MeshFile, massProperties, readMesh, topology, unitToMm } from '@stonehand/mesh';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';

// ISO/ASTM 52915: units, objects, volumes, constellations. The bipyramid is that of assimp's test/models/AMF/test8.amf
// (BSD 3-Clause): two volumes over one list of vertices, placed twice and turned by ±45° about x.

const POINTS = [
  [-0.5, -0.5, 0],
  [-0.5, 0.5, 0],
  [1, 0, 0],
  [0, 0, 4],
  [0, 0, -4],
] as const;
const UPPER = [
  [0, 1, 2],
  [0, 3, 1],
  [1, 3, 2],
  [0, 2, 3],
] as const;
const LOWER = [
  [0, 2, 1],
  [0, 4, 2],
  [1, 2, 4],
  [0, 1, 4],
] as const;

function object(id: string, volumes: readonly string[], more = ''): string {
  const vertices = POINTS.map(
    ([x, y, z]) => `<vertex><coordinates><x>${x}</x><y>${y}</y><z>${z}</z></coordinates></vertex>`,
  );
  return `<object id="${id}">${more}<mesh><vertices>${vertices.join('')}</vertices>${volumes.join('')}</mesh></object>`;
}

function volume(sides: readonly (readonly [number, number, number])[], attributes = '', more = ''): string {
  const triangles = sides.map(([a, b, c]) => `<triangle><v1>${a}</v1><v2>${b}</v2><v3>${c}</v3></triangle>`);
  return `<volume${attributes}>${more}${triangles.join('')}</volume>`;
}

function instance(id: string, moves: Readonly<Record<string, number>>): string {
  const each = Object.entries(moves).map(([name, value]) => `<${name}>${value}</${name}>`);
  return `<instance objectid="${id}">${each.join('')}</instance>`;
}

const amf = (inside: string, attributes = ''): Uint8Array =>
  strToU8(`<?xml version="1.0" encoding="utf-8"?>\n<amf${attributes}>${inside}</amf>\n`);
const read = (bytes: Uint8Array): Promise<MeshFile> => readMesh(bytesSource('a.amf', bytes));

const PYRAMID = 4 * (1 / 3) * (1.5 / 2); // height × base triangle of 1.5 × 1 halved, a third

describe('AMF', () => {
  test('two volumes over one list of vertices are one part; the file may be zipped', async () => {
    const text = amf(object('1', [volume(UPPER), volume(LOWER)]));
    for (const bytes of [text, zipSync({ 'whatever.amf': text })]) {
      const { mesh, format, unit } = await read(bytes);
      expect([format, unit]).toEqual(['AMF', 'millimeter']);
      expect(mesh.triangles.length / 3).toBe(8);
      expect(massProperties(mesh).volumeMm3).toBeCloseTo(2 * PYRAMID, 14);
    }
  });

  test('units are the standard’s five', async () => {
    for (const unit of ['millimeter', 'inch', 'feet', 'meter', 'micrometer']) {
      const file = await read(amf(object('1', [volume(LOWER)]), ` unit="${unit}"`));
      expect(file.unit).toBe(unit);
      expect(unitToMm(file.unit!)).toBe(
        { millimeter: 1, inch: 25.4, feet: 304.8, meter: 1000, micrometer: 0.001 }[unit],
      );
    }
    await expect(read(amf(object('1', [volume(LOWER)]), ' unit="cubit"'))).rejects.toThrow(
      /line 2: "cubit" is not a unit/,
    );
  });

  test('a constellation places its objects instead of where they were drawn', async () => {
    const placed = instance('1', { deltax: -5, rx: -45 }) + instance('1', { deltax: 5, rx: 45 });
    const { mesh } = await read(amf(`${object('1', [volume(LOWER)])}<constellation id="2">${placed}</constellation>`));
    expect(topology(mesh).components).toBe(2);
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(2 * PYRAMID, 13);
    // The tip (0, 0, −4) goes to y = −4·sin 45° for −45° and to y = +4·sin 45° for +45°.
    const tip = 4 * Math.SQRT1_2;
    const { min, max } = massProperties(mesh).boxMm;
    expect([min[0], max[0]]).toEqual([-5.5, 6]);
    expect([min[1], max[1], min[2]].map((v) => v.toFixed(12))).toEqual([-tip, tip, -tip].map((v) => v.toFixed(12)));
  });

  test('constellations of constellations multiply; an object that nothing places stays where it is', async () => {
    const lower = object('1', [volume(LOWER)], '<metadata type="name">foot</metadata>');
    const free = object('5', [volume(LOWER, '', '<metadata type="name">toe</metadata>')]);
    const pair = `<constellation id="2">${instance('1', { deltax: 10 })}${instance('1', { deltax: 20 })}</constellation>`;
    const outer = `<constellation id="3">${instance('2', { rz: 90 })}${instance('2', { deltaz: 50 })}</constellation>`;
    const { mesh, names } = await read(amf(lower + free + outer + pair));
    expect(names).toEqual(['toe', 'foot']);
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(5 * PYRAMID, 12);
    // rz = 90° turns the shift of 20 along x into one along y; the base then ends at y = 20 + 1.
    expect(massProperties(mesh).boxMm.max[1]).toBeCloseTo(21, 12);
    expect(massProperties(mesh).boxMm.max[2]).toBe(50);
  });

  test('materials are kept as names; support is left out; curved edges are noted; two angles are doubted', async () => {
    const material = '<material id="7"><metadata type="Name">grey &amp; hard</metadata></material>';
    const curved = object('1', [volume(LOWER, ' materialid="7"'), volume(UPPER, ' type="support"')]).replace(
      '</vertices>',
      '<edge><v1>0</v1><dx1>1</dx1></edge></vertices>',
    );
    const turned = `<constellation id="2">${instance('1', { rx: 90, rz: 90 })}</constellation>`;
    const { mesh, materials, notes } = await read(amf(material + curved + turned));
    expect(materials).toEqual(['grey & hard']);
    expect(mesh.triangles.length / 3).toBe(4);
    expect(notes.map(({ code, severity }) => [code, severity])).toEqual([
      ['supportLeftOut', 'note'],
      ['curved', 'note'],
      ['turnOrder', 'doubt'],
    ]);
    // x by 90° takes the tip (0, 0, −4) to (0, 4, 0), z by 90° then to (−4, 0, 0).
    expect(massProperties(mesh).boxMm.min[0]).toBeCloseTo(-4, 12);
  });

  const whole = object('1', [volume(LOWER)]);
  const refused: readonly (readonly [string, string, RegExp])[] = [
    ['a vertex number beyond the list', whole.replace('<v1>0', '<v1>5'), /names vertex 5; there are 5, counted from 0/],
    [
      'a number that is none',
      whole.replace('<z>4</z>', '<z>4,0</z>'),
      /z is "4,0", which is not a number \(ISO\/ASTM 52915\)/,
    ],
    ['a vertex without z', whole.replace('<z>4</z>', ''), /a vertex has no z/],
    ['two objects of one id', whole + whole, /object 1 is defined twice/],
    [
      'an instance of nothing',
      `${whole}<constellation id="2">${instance('9', {})}</constellation>`,
      /places "9", which is not in the file/,
    ],
    [
      'a constellation that places itself',
      `${whole}<constellation id="2">${instance('1', {})}</constellation><constellation id="3">${instance('4', {})}</constellation><constellation id="4">${instance('3', {})}${instance('1', {})}</constellation><constellation id="5">${instance('4', {})}</constellation>`,
      /in a circle/,
    ],
  ];
  for (const [what, inside, message] of refused) {
    test(`${what} is refused with the line`, async () => {
      await expect(read(amf(inside))).rejects.toThrow(message);
      await expect(read(amf(inside))).rejects.toMatchObject({ code: 'MESH_MALFORMED' });
    });
  }
});
