import { gzipSync } from 'node:zlib';
import { bytesSource, readMesh } from '@stonehand/mesh';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { modelXml, packed, TETRAHEDRON } from './packages.ts';

// Files made to exhaust or to lead astray. Each ends in one clear line, quickly and in little memory.

const OBJECT = `<object id="1">${TETRAHEDRON}</object>`;
const ITEM = '<item objectid="1"/>';

async function refusal(name: string, bytes: Uint8Array): Promise<{ code: string; message: string }> {
  const before = process.memoryUsage().arrayBuffers;
  // Processor time: on a busy machine the clock says nothing of the work.
  const worked = process.cpuUsage().user;
  try {
    await readMesh(bytesSource(name, bytes));
  } catch (error) {
    const { code, message } = error as { code: string; message: string };
    expect(message).toMatch(/^[^\n]{10,300}$/);
    expect((process.cpuUsage().user - worked) / 1000).toBeLessThan(10_000);
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(300e6);
    return { code, message };
  }
  throw new Error(`${name} was read`);
}

describe('bombs', () => {
  const blanks = new Uint8Array(20e6).fill(32); // packs a thousand to one

  test('a gzip and a ZIP of twenty million blanks stop at their ratio, nested ones too', async () => {
    const gz = gzipSync(blanks);
    const zip = zipSync({ 'a.obj': blanks }, { level: 9 });
    const files = {
      'a.gz': gz,
      'a.zip': zip,
      'b.zip': zipSync({ 'a.zip': zip }),
      'c.zip': zipSync({ 'a.obj.gz': gz }),
    };
    for (const [name, bytes] of Object.entries(files)) {
      expect(bytes.length).toBeLessThan(100_000);
      expect(await refusal(name, bytes)).toEqual({
        code: 'MESH_TOO_LARGE',
        message: expect.stringMatching(/: more than 200 times its size when unpacked; reading stopped$/),
      });
    }
  });

  test('a 3MF whose model is a bomb stops while it is streamed', async () => {
    const model = modelXml(OBJECT, ITEM).replace('<resources>', `<resources>${' '.repeat(20e6)}`);
    expect((await refusal('a.3mf', packed(model))).code).toBe('MESH_TOO_LARGE');
  });

  test('archives in archives in archives end at the fourth', async () => {
    let bytes: Uint8Array = strToU8('v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n');
    for (let level = 0; level < 3; level++) bytes = zipSync({ [level === 0 ? 'a.obj' : 'a.zip']: bytes });
    await expect(readMesh(bytesSource('a.zip', bytes))).resolves.toMatchObject({ format: 'OBJ' });
    const deeper = zipSync({ 'a.zip': bytes });
    expect((await refusal('a.zip', deeper)).message).toMatch(/archives lie in archives more than 3 deep/);
  });

  test('an entry that unpacks to more than it states is refused', async () => {
    const zip = zipSync({ 'a.obj': new Uint8Array(5000).fill(35) });
    const central = new DataView(zip.buffer, zip.byteOffset);
    for (let at = 0; at + 4 < zip.length; at++) {
      if (central.getUint32(at, true) === 0x02014b50) central.setUint32(at + 24, 100, true);
    }
    expect((await refusal('a.zip', zip)).message).toMatch(/the ZIP archive is damaged/);
  });
});

describe('paths and names', () => {
  for (const path of ['../../etc/a.stl', '/etc/a.stl', 'c:/a.stl', 'a/../../b.stl']) {
    test(`an archive that names ${path} is refused as a whole`, async () => {
      const { code, message } = await refusal('a.zip', zipSync({ 'ok.stl': strToU8('x'), [path]: strToU8('x') }));
      expect(code).toBe('MESH_MALFORMED');
      expect(message).toMatch(/a path that leads out of it$/);
    });
  }

  test('a name that is listed twice is refused; one with line ends makes one line', async () => {
    const zip = zipSync({ 'a.stl': strToU8('x'), 'b.stl': strToU8('x') });
    const twice = zip.map((byte, i) => (byte === 0x62 && zip[i + 1] === 0x2e ? 0x61 : byte)); // "b." to "a."
    expect((await refusal('a.zip', twice)).message).toMatch(/holds "a\.stl" twice/);
    const odd = zipSync({ 'a\nb.stl': strToU8('x'), 'c.stl': strToU8('x') });
    expect((await refusal('a.zip', odd)).message).toMatch(/\(a.b\.stl, c\.stl\), not one$/);
  });
});

describe('XML', () => {
  const tricks: readonly (readonly [string, string, RegExp])[] = [
    [
      'entities that multiply',
      modelXml(OBJECT, ITEM).replace('<model', '<!DOCTYPE a [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><model'),
      /a document type declaration is not allowed \(3MF core 2\.3\.2\)/,
    ],
    [
      'an entity from a file',
      modelXml(OBJECT, ITEM).replace('<model', '<!DOCTYPE a SYSTEM "file:///etc/hostname"><model'),
      /a document type declaration is not allowed/,
    ],
    ['an entity that nobody defined', modelXml(OBJECT.replace('x="0"', 'x="&b;"'), ITEM), /\(XML 1\.0\)/],
    ['nesting without end', modelXml(`${'<q:a xmlns:q="urn:q">'.repeat(300)}`, ITEM), /nested more than 256 deep/],
    [
      'attributes without end',
      modelXml(`<q:a xmlns:q="urn:q" ${Array.from({ length: 2000 }, (_, i) => `a${i}=""`).join(' ')}/>`, ITEM),
      /more than 1024 attributes/,
    ],
    [
      'another encoding',
      modelXml(OBJECT, ITEM).replace('UTF-8', 'UTF-16'),
      /the encoding is UTF-16, only UTF-8 is allowed/,
    ],
  ];
  for (const [what, model, message] of tricks) {
    test(`${what}: refused`, async () => {
      expect((await refusal('a.3mf', packed(model))).message).toMatch(message);
    });
  }

  test('bytes that are no UTF-8 are refused, in 3MF and AMF', async () => {
    const latin = Uint8Array.from(modelXml(OBJECT.replace('<object', '<object name="\u00e9"'), ITEM), (c) =>
      c.charCodeAt(0),
    );
    expect((await refusal('a.3mf', packed(latin))).message).toMatch(/the text is not UTF-8 \(3MF core 2\.3\.2\)/);
    const amf = Uint8Array.from('<?xml version="1.0"?><amf>\u00e9</amf>', (c) => c.charCodeAt(0));
    expect((await refusal('a.amf', amf)).message).toMatch(/the text is not UTF-8 \(ISO\/ASTM 52915\)/);
  });

  test('AMF refuses the same tricks', async () => {
    const amf = '<?xml version="1.0"?><!DOCTYPE amf [<!ENTITY a "b">]><amf><object id="&a;"/></amf>';
    expect((await refusal('a.amf', strToU8(amf))).message).toMatch(/document type declaration is not allowed/);
  });
});

describe('things that contain themselves or multiply', () => {
  test('components nested 300 deep, and constellations', async () => {
    const chain = Array.from(
      { length: 300 },
      (_, i) => `<object id="${i + 2}"><components><component objectid="${i + 1}"/></components></object>`,
    );
    const model = modelXml(OBJECT + chain.join(''), '<item objectid="301"/>');
    expect((await refusal('a.3mf', packed(model))).message).toMatch(/nested more than 256 deep \(3MF core 4\.2/);
    const constellations = Array.from(
      { length: 300 },
      (_, i) => `<constellation id="c${i}"><instance objectid="c${i + 1}"/></constellation>`,
    );
    const amf = `<amf><object id="c300"><mesh/></object>${constellations.join('')}</amf>`;
    expect((await refusal('a.amf', strToU8(amf))).message).toMatch(/nested more than 256 deep/);
  });

  test('twenty-five levels of two instances each in AMF do not become 33 million', async () => {
    const levels = Array.from({ length: 25 }, (_, i) => {
      const one = `<instance objectid="c${i}"/>`;
      return `<constellation id="c${i + 1}">${one}${one}</constellation>`;
    });
    const amf = `<amf><object id="c0"><mesh/></object>${levels.join('')}</amf>`;
    expect(await refusal('a.amf', strToU8(amf))).toMatchObject({ code: 'MESH_TOO_LARGE' });
  });

  const gltf = (more: object): Uint8Array =>
    strToU8(
      JSON.stringify({
        asset: { version: '2.0' },
        scenes: [{ nodes: [0] }],
        nodes: [{ mesh: 0 }],
        meshes: [{ primitives: [{ attributes: { POSITION: 0 } }] }],
        accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3' }],
        bufferViews: [{ buffer: 0, byteLength: 36 }],
        buffers: [
          { byteLength: 36, uri: `data:application/octet-stream;base64,${Buffer.alloc(36).toString('base64')}` },
        ],
        ...more,
      }),
    );
  const broken: readonly (readonly [string, object, RegExp])[] = [
    [
      'nodes in a circle',
      { nodes: [{ mesh: 0, children: [1] }, { children: [0] }] },
      /in a circle \(glTF 2\.0 3\.5\.2\)/,
    ],
    ['a node with two parents', { nodes: [{ children: [1, 2] }, { children: [2] }, { mesh: 0 }] }, /has two parents/],
    [
      'a count of four thousand million without data',
      { accessors: [{ componentType: 5126, count: 4e9, type: 'VEC3' }] },
      /accessor 0 has no data/,
    ],
    [
      'a count beyond its data',
      { accessors: [{ bufferView: 0, componentType: 5126, count: 4, type: 'VEC3' }] },
      /promises 4 elements, more than its bufferView holds/,
    ],
    [
      'a buffer longer than its data',
      { buffers: [{ byteLength: 37, uri: 'data:application/octet-stream;base64,AAAA' }] },
      /promises 37 bytes and holds 3/,
    ],
    [
      'data in another file',
      { buffers: [{ byteLength: 36, uri: '../../etc/passwd' }] },
      /its data lies in another file/,
    ],
    [
      'compressed data',
      { extensionsRequired: ['KHR_draco_mesh_compression'] },
      /requires the extension KHR_draco_mesh_compression/,
    ],
  ];
  for (const [what, more, message] of broken) {
    test(`glTF with ${what} is refused`, async () => {
      expect((await refusal('a.gltf', gltf(more))).message).toMatch(message);
    });
  }

  test('one glTF mesh of a million triangles at forty nodes, and a hundred thousand nodes, are counted before placing', async () => {
    const bytes = Buffer.alloc(36 + 3e6);
    const instances = Array.from({ length: 40 }, (_, i) => i);
    const heavy = gltf({
      scenes: [{ nodes: instances }],
      nodes: instances.map(() => ({ mesh: 0 })),
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, indices: 1 }] }],
      accessors: [
        { bufferView: 0, componentType: 5126, count: 3, type: 'VEC3' },
        { bufferView: 1, componentType: 5121, count: 3e6, type: 'SCALAR' },
      ],
      bufferViews: [
        { buffer: 0, byteLength: 36 },
        { buffer: 0, byteOffset: 36, byteLength: 3e6 },
      ],
      buffers: [{ byteLength: bytes.length, uri: `data:application/octet-stream;base64,${bytes.toString('base64')}` }],
    });
    expect(await refusal('a.gltf', heavy)).toMatchObject({
      code: 'MESH_TOO_LARGE',
      message: expect.stringMatching(/multiply to more than/),
    });
    const nodes = Array.from({ length: 100_000 }, () => ({ mesh: 0 }));
    expect(await refusal('a.gltf', gltf({ nodes }))).toMatchObject({
      code: 'MESH_TOO_LARGE',
      message: expect.stringMatching(/100000 nodes/),
    });
  });
});
