import type { Mesh } from '@stonehand/model';
import { planNames, plate3mf, write3mf } from '@stonehand/report';
import fc from 'fast-check';
import { strFromU8, unzipSync } from 'fflate';
import { SaxesParser } from 'saxes';
import { describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from '../packages/report/test/fixture.ts';
import { ball, box, mushroom, tube, volumeOf } from '../packages/report/test/shapes.ts';

// A reader of 3MF core 1.4.0 written for this test from the specification alone (section numbers are its): it fails on what a
// reader must or should refuse, and gives back what is printed.

type Read = Readonly<{
  unit: string;
  metadata: ReadonlyMap<string, string>;
  objects: ReadonlyMap<number, Readonly<{ name: string; mesh: Mesh; pid?: number; pindex?: number }>>;
  bases: readonly Readonly<{ name: string; colour: string }>[];
  items: readonly Readonly<{ object: number; transform: readonly number[]; partNumber?: string }>[];
}>;

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
// ST_Number of the schema: no comma, no NaN, no hexadecimal.
const NUMBER = /^[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?$/;

function read3mf(bytes: Uint8Array): Read {
  const files = unzipSync(bytes);
  for (const name of ['[Content_Types].xml', '_rels/.rels']) expect(files[name], name).toBeDefined();
  // 2.1.1: the model is found by its relationship, never by its path; C.1: its content type is declared for its extension.
  const relations = elements(
    strFromU8(files['_rels/.rels']!),
    'http://schemas.openxmlformats.org/package/2006/relationships',
  );
  const starts = relations.filter(
    (e) =>
      e.name === 'Relationship' &&
      e.attributes.get('Type') === 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel',
  );
  expect(starts).toHaveLength(1);
  const path = starts[0]!.attributes.get('Target')!.replace(/^\//, '');
  const types = elements(
    strFromU8(files['[Content_Types].xml']!),
    'http://schemas.openxmlformats.org/package/2006/content-types',
  );
  const extension = path.split('.').at(-1);
  expect(
    types
      .find((e) => e.name === 'Default' && e.attributes.get('Extension') === extension)
      ?.attributes.get('ContentType'),
  ).toBe('application/vnd.ms-package.3dmanufacturing-3dmodel+xml');
  expect(types.find((e) => e.attributes.get('Extension') === 'rels')?.attributes.get('ContentType')).toBe(
    'application/vnd.openxmlformats-package.relationships+xml',
  );
  return readModel(strFromU8(files[path]!));
}

type Element = Readonly<{ name: string; attributes: ReadonlyMap<string, string>; text: string }>;

function elements(xml: string, namespace: string): Element[] {
  const out: { name: string; attributes: ReadonlyMap<string, string>; text: string }[] = [];
  const open: (typeof out)[number][] = [];
  const parser = new SaxesParser({ xmlns: true });
  parser.on('doctype', () => {
    throw new Error('2.3.2: a DTD is not allowed');
  });
  parser.on('error', (error) => {
    throw error;
  });
  parser.on('opentag', (tag) => {
    if (tag.uri !== namespace) throw new Error(`${tag.name} is of namespace ${tag.uri}`);
    const attributes = new Map(
      Object.values(tag.attributes)
        .filter((a) => a.uri === '')
        .map((a) => [a.name, a.value] as const),
    );
    const element = { name: tag.local, attributes, text: '' };
    out.push(element);
    open.push(element);
  });
  parser.on('text', (text) => {
    const top = open.at(-1);
    if (top !== undefined) top.text += text;
  });
  parser.on('closetag', () => void open.pop());
  parser.write(xml).close();
  return out;
}

function readModel(xml: string): Read {
  // Thrown, not expected: these run once a coordinate.
  const number = (text: string | undefined): number => {
    if (text === undefined || !NUMBER.test(text)) throw new Error(`"${text}" is no number of the schema`);
    return Number(text);
  };
  const index = (text: string | undefined, below: number): number => {
    if (text === undefined || !/^\d+$/.test(text) || Number(text) >= below)
      throw new Error(`"${text}" is no index below ${below}`);
    return Number(text);
  };
  const metadata = new Map<string, string>();
  const objects = new Map<number, { name: string; mesh: Mesh; pid?: number; pindex?: number }>();
  const bases: { name: string; colour: string }[] = [];
  const items: { object: number; transform: readonly number[]; partNumber?: string }[] = [];
  const ids = new Set<number>();
  const newId = (text: string | undefined): number => {
    const id = index(text, 2 ** 31);
    expect(id).toBeGreaterThan(0);
    expect(ids.has(id), `id ${id} is unique in the model (3.4)`).toBe(false);
    ids.add(id);
    return id;
  };
  let unit = 'millimeter';
  let positions: number[] = [];
  let triangles: number[] = [];
  let last: { name: string; id: number; pid?: number; pindex?: number } | undefined;
  const finish = (): void => {
    if (last === undefined) return;
    const { id, ...rest } = last;
    objects.set(id, {
      ...rest,
      mesh: { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] },
    });
    positions = [];
    triangles = [];
    last = undefined;
  };
  for (const { name, attributes: a, text } of elements(xml, CORE)) {
    if (name === 'model') unit = a.get('unit') ?? 'millimeter';
    if (name === 'metadata') {
      expect(metadata.has(a.get('name')!), '3.4.1: no name twice').toBe(false);
      metadata.set(a.get('name')!, text);
    }
    if (name === 'basematerials') newId(a.get('id'));
    if (name === 'base') {
      expect(a.get('displaycolor')).toMatch(/^#[0-9A-F]{6}([0-9A-F]{2})?$/);
      bases.push({ name: a.get('name')!, colour: a.get('displaycolor')! });
    }
    if (name === 'object') {
      finish();
      expect(a.get('type') ?? 'model').toBe('model');
      if (a.get('pindex') !== undefined) expect(a.get('pid'), '5: pindex needs pid').toBeDefined();
      last = {
        id: newId(a.get('id')),
        name: a.get('name') ?? '',
        ...(a.get('pid') === undefined
          ? {}
          : { pid: index(a.get('pid'), 2 ** 31), pindex: index(a.get('pindex'), bases.length) }),
      };
      if (last.pid !== undefined) expect(ids.has(last.pid), 'defined before it is referred to').toBe(true);
    }
    if (name === 'vertex') positions.push(number(a.get('x')), number(a.get('y')), number(a.get('z')));
    if (name === 'triangle')
      for (const key of ['v1', 'v2', 'v3']) triangles.push(index(a.get(key), positions.length / 3));
    if (name === 'build') finish();
    if (name === 'item') {
      const object = index(a.get('objectid'), 2 ** 31);
      expect(objects.has(object), 'an item refers to an object that came before').toBe(true);
      const transform = (a.get('transform') ?? '1 0 0 0 1 0 0 0 1 0 0 0').split(' ').map(number);
      const partNumber = a.get('partnumber');
      expect(transform).toHaveLength(12);
      items.push({
        object,
        transform,
        ...(partNumber === undefined ? {} : { partNumber }),
      });
    }
  }
  for (const object of objects.values()) expectSolid(object.mesh);
  return { unit, metadata, objects, bases, items };
}

/** 4.1 and 4.1.4: each edge in exactly two triangles, once each way; corners distinct; four triangles at least; outward. */
function expectSolid({ triangles: t, ...mesh }: Mesh): void {
  expect(t.length / 3).toBeGreaterThanOrEqual(4);
  const edges = new Map<string, number>();
  for (let k = 0; k < t.length; k += 3) {
    const c = [t[k]!, t[k + 1]!, t[k + 2]!];
    if (new Set(c).size < 3) throw new Error(`4.1.4: triangle ${k / 3} uses a corner twice`);
    for (let i = 0; i < 3; i++) {
      const key = `${c[i]} ${c[(i + 1) % 3]}`;
      edges.set(key, (edges.get(key) ?? 0) + 1);
    }
  }
  for (const [key, n] of edges) {
    const back = edges.get(key.split(' ').reverse().join(' '));
    if (n !== 1 || back !== 1) throw new Error(`4.1: edge ${key} is met ${n} times, backwards ${back ?? 0} times`);
  }
  expect(volumeOf({ ...mesh, triangles: t })).toBeGreaterThan(0);
}

/** 3.3: p' = p·M with row vectors, the last three numbers are the shift. */
function placed(mesh: Mesh, m: readonly number[]): Mesh {
  const out = new Float64Array(mesh.positions.length);
  for (let i = 0; i < out.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      out[i + k] =
        mesh.positions[i]! * m[k]! +
        mesh.positions[i + 1]! * m[3 + k]! +
        mesh.positions[i + 2]! * m[6 + k]! +
        m[9 + k]!;
    }
  }
  return { ...mesh, positions: out };
}

const names = planNames(WEEKEND);
const shed = WEEKEND.plates.find((plate) => plate.id === 'p7')!;
const pack = (id: string) =>
  plate3mf({
    plate: WEEKEND.plates.find((p) => p.id === id)!,
    meshes: MESHES,
    piece: names.piece,
    name: names.pieceName,
    materials: WEEKEND.materials,
  });

describe('a plate as 3MF (core specification 1.4.0)', () => {
  test('is a package that a reader by the book accepts, in millimetres, with title and application', () => {
    for (const plate of WEEKEND.plates) {
      const { bytes, missing } = pack(plate.id);
      expect(missing).toEqual([]);
      const read = read3mf(bytes);
      expect(read.unit).toBe('millimeter');
      expect(read.metadata.get('Title')).toBe(plate.name);
      expect(read.metadata.get('Application')).toBe('stonehand');
      expect(read.items).toHaveLength(plate.placed.length);
      expect(read.objects.size).toBe(new Set(plate.placed.map((p) => p.copyId.split('#')[0])).size);
      expect(read.bases[0]).toEqual({ name: names.materialName(plate.materialIds[0]!), colour: expect.any(String) });
    }
  });

  test('puts every copy where the plan has it, in the positive octant (3.1), with the volume of its mesh', () => {
    const read = read3mf(pack('p7').bytes);
    shed.placed.forEach((want, i) => {
      const item = read.items[i]!;
      expect(item.partNumber).toBe(want.copyId);
      const mesh = MESHES.get(want.copyId.split('#')[0]!)!;
      const at = placed(read.objects.get(item.object)!.mesh, item.transform);
      expect(volumeOf(at) / volumeOf(mesh)).toBeCloseTo(1, 9);
      expect(Math.min(...at.positions)).toBeGreaterThanOrEqual(-1e-9);
      // counter-clockwise turn of the mesh point (x, y), then the shift
      const [c, s] = [Math.cos((want.turnDeg * Math.PI) / 180), Math.sin((want.turnDeg * Math.PI) / 180)];
      const [x, y, z] = mesh.positions;
      expect(at.positions[0]).toBeCloseTo(c * x! - s * y! + want.xMm, 9);
      expect(at.positions[1]).toBeCloseTo(s * x! + c * y! + want.yMm, 9);
      expect(at.positions[2]).toBeCloseTo(z!, 9);
    });
  });

  test('is the same bytes for the same plate, and dates no entry', () => {
    const a = pack('p3').bytes;
    expect(pack('p3').bytes).toEqual(a);
    // ZIP: general DOS date of 1 January 1980 is 0x0021, time 0; at offset 10 of the first local header.
    expect([...a.slice(10, 14)]).toEqual([0, 0, 0x21, 0]);
  });

  test('leaves out a copy without a mesh and names it', () => {
    const { missing, bytes } = plate3mf({
      plate: shed,
      meshes: new Map([...MESHES].filter(([id]) => !id.includes('shin'))),
    });
    expect(missing).toEqual(['heron/legs/shin-left#1']);
    expect(read3mf(bytes).items).toHaveLength(2);
  });
});

describe('write3mf', () => {
  test('names with markup and other scripts come back as they were', () => {
    const name = `<a & "b"> 'c' — 鷺`;
    const read = read3mf(write3mf([{ name, mesh: box(1, 2, 3), partNumber: name }], [{ object: 0 }], { title: name }));
    expect([...read.objects.values()][0]!.name).toBe(name);
    expect(read.metadata.get('Title')).toBe(name);
  });

  test('coordinates come back to the last bit, of single and of double precision', () => {
    fc.assert(
      fc.property(fc.float({ min: Math.fround(0.1), max: 500, noNaN: true }), fc.boolean(), (size, single) => {
        const mesh = mushroom(size / 3, size, size / 7, size / 11, 5);
        const positions = single ? Float32Array.from(mesh.positions) : mesh.positions;
        const back = [
          ...read3mf(write3mf([{ name: 'x', mesh: { ...mesh, positions } }], [{ object: 0 }])).objects.values(),
        ][0]!.mesh;
        const same = single ? Float32Array.from(back.positions) : back.positions;
        expect([...same]).toEqual([...positions].map((v) => v + 0));
      }),
      { seed: 21, numRuns: 30 },
    );
  });

  test('materials and objects share one space of ids', () => {
    const read = read3mf(
      write3mf(
        [
          { name: 'a', mesh: tube(5, 3, 4), material: 1 },
          { name: 'b', mesh: ball(4, 12), material: 0 },
        ],
        [{ object: 1 }, { object: 0 }],
        {
          materials: [
            { name: 'ABS white', colour: '#F4F4F2' },
            { name: 'PETG grey', colour: '#808080' },
          ],
        },
      ),
    );
    expect([...read.objects.values()].map((o) => [o.name, o.pid, o.pindex])).toEqual([
      ['a', 1, 1],
      ['b', 1, 0],
    ]);
  });

  const bad = (change: (t: Uint32Array) => Uint32Array): Mesh => {
    const mesh = box(1, 1, 1);
    return { ...mesh, triangles: change(mesh.triangles) };
  };
  test.each([
    ['an open mesh', bad((t) => t.slice(0, -3)), /one triangle only/],
    ['a triangle twice', bad((t) => Uint32Array.from([...t, ...t.slice(0, 3)])), /more than two triangles/],
    ['an inside-out mesh', bad((t) => t.slice().reverse()), /inside out/],
    ['a corner used twice', bad((t) => Uint32Array.from([t[0]!, t[0]!, t[2]!, ...t.slice(3)])), /a corner twice/],
    ['an index out of range', bad((t) => Uint32Array.from([99, ...t.slice(1)])), /not there/],
  ])('refuses %s by name (4.1)', (_, mesh, message) => {
    expect(() => write3mf([{ name: 'wing', mesh }], [{ object: 0 }])).toThrow(message);
    expect(() => write3mf([{ name: 'wing', mesh }], [{ object: 0 }])).toThrow(/^wing: /);
  });
});
