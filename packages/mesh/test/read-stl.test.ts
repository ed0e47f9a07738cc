import { StonehandError } from '@stonehand/base';
import { type ByteSource, bytesSource, massProperties, readStl } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { expectSameCounts, expectSameFigures } from './agreement.ts';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';

const WRONG_COUNT = 'broken_incorrectFaceCounter.bin.stl';

// reference.json: VTK 9.1.0, Open3D 0.16.1, CGAL 5.5.1, ODE 0.16.2, numpy 1.24.2, manifold-3d 3.5.4.
describe.skipIf(REFERENCE_ABSENT)('reference meshes (skipped where ../shared/data/meshes is absent)', () => {
  for (const [file, expected] of referenceMeshes()) {
    if (!file.endsWith('.stl')) continue;
    test(`${file} measures as VTK, CGAL, Open3D and numpy say`, () => {
      const read = readStl(referenceSource(file));
      expectSameCounts(read, expected);
      // Double sums over the same coordinates; the tensor of a body far from its box centre loses the most.
      expectSameFigures(read, expected, 1e-12);
    });
  }

  test('a header that promises 66 triangles where 4 follow that close the surface: read with a doubt', () => {
    const read = readStl(referenceSource(WRONG_COUNT));
    expect(read.notes.map(({ code, severity, says }) => [code, severity, says])).toEqual([
      ['wrongCount', 'doubt', 'The header promises 66 triangles; 4 follow, and all of them were read.'],
    ]);
  });

  test('a text facet of two or four vertices is refused with its line', () => {
    expect(() => readStl(referenceSource('broken_twoVertices.ascii.stl'))).toThrow(/line 6: a facet has 2 vertices/);
    expect(() => readStl(referenceSource('broken_fourVertices.ascii.stl'))).toThrow(/line 7: a facet has more than 3/);
  });
});

describe('binary or text', () => {
  test('a binary file whose header starts with solid is binary', () => {
    const read = readStl(bytesSource('a.stl', binary([TRIANGLE], 'solid made by a program')));
    expect(read.format).toBe('STL binary');
    expect(read.mesh.triangles.length).toBe(3);
  });

  test('coloured attribute bytes change nothing', () => {
    const plain = binary(TETRAHEDRON, 'x');
    const coloured = plain.slice();
    for (let t = 0; t < 4; t++) coloured.set([0x1f, 0xfc], 84 + 50 * t + 48);
    expect(readStl(bytesSource('a.stl', coloured)).mesh).toEqual(readStl(bytesSource('a.stl', plain)).mesh);
  });

  test('text and binary of the same coordinates give the same surface', () => {
    const fromText = readStl(bytesSource('t.stl', text(TETRAHEDRON))).mesh;
    const fromBinary = readStl(bytesSource('b.stl', binary(TETRAHEDRON, 'x'))).mesh;
    expect([...fromText.positions]).toEqual([...fromBinary.positions]);
    expect(fromText.triangles).toEqual(fromBinary.triangles);
  });

  test('several solids, mixed case, tabs, carriage returns and one long line are all text STL', () => {
    const solid = (name: string): string =>
      `SOLID ${name}\r\n\tFacet NORMAL nan nan nan\r\n outer LOOP vertex 0 0 0 Vertex 1 0 0 vertex 0 1e0 .0 endLoop EndFacet\r\nendSOLID ${name}\r\n`;
    const read = readStl(bytesSource('t.stl', new TextEncoder().encode(solid('left wing') + solid('right wing'))));
    expect(read.names).toEqual(['left wing', 'right wing']);
    expect(read.mesh.triangles.length).toBe(6);
    expect(read.mesh.positions.length).toBe(9);
  });

  test('closing keywords in two words, and a byte order mark, are read all the same', () => {
    const facet = 'facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nend loop\nend facet\n';
    const bytes = new TextEncoder().encode(`\ufeffsolid a\n${facet}end solid a\nsolid b\n${facet}endsolid`);
    const read = readStl(bytesSource('t.stl', bytes));
    expect([read.names, read.mesh.triangles.length, read.notes]).toEqual([['a', 'b'], 6, []]);
  });

  test('text numbers are rounded as the language rounds them', () => {
    const numbers = [
      '0.1',
      '-1.7976931348623157e308',
      '4.9e-324',
      '123456789.123456789',
      '1e23',
      '-0.000001',
      '9007199254740993',
    ];
    for (const number of numbers) {
      const bytes = new TextEncoder().encode(
        `solid a\nfacet normal 0 0 0 outer loop\nvertex ${number} 0 0\nvertex 0 1 0\nvertex 0 0 1\nendloop endfacet\nendsolid`,
      );
      expect(readStl(bytesSource('n.stl', bytes)).mesh.positions[0]).toBe(Number(number));
    }
  });

  test('a source that gives its bytes seven at a time reads the same', () => {
    for (const bytes of [binary(manyTriangles(5000), 'x'), text(manyTriangles(5000))]) {
      const whole = readStl(bytesSource('a.stl', bytes));
      const drip: ByteSource = {
        ...bytesSource('a.stl', bytes),
        read: (into, at) => bytesSource('', bytes).read(into.subarray(0, 7), at),
      };
      expect(readStl(drip)).toEqual(whole);
    }
  });
});

describe('damaged files', () => {
  test('a count of four thousand million is refused without making room for it', () => {
    const bytes = binary([TRIANGLE], 'x');
    new DataView(bytes.buffer).setUint32(80, 4_000_000_000, true);
    const before = process.memoryUsage().arrayBuffers;
    expect(() => readStl(bytesSource('a.stl', bytes))).toThrow(/4000000000 triangles, the file ends after 1/);
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(1e6);
  });

  test('a count of 0 before whole records is wrong; one too large before an open surface means a cut file', () => {
    const zero = binary(TETRAHEDRON.slice(1), 'x');
    new DataView(zero.buffer).setUint32(80, 0, true);
    const read = readStl(bytesSource('a.stl', zero));
    expect([read.mesh.triangles.length / 3, read.notes.map((note) => note.code)]).toEqual([3, ['wrongCount']]);
    const cut = binary(TETRAHEDRON, 'x').subarray(0, 84 + 50 * 3);
    expect(() => readStl(bytesSource('a.stl', cut))).toThrow(/promises 4 triangles, the file ends after 3/);
  });

  test('bytes after the promised triangles are noted, not read', () => {
    const bytes = new Uint8Array([...binary(TETRAHEDRON, 'x'), 1, 2, 3]);
    const read = readStl(bytesSource('a.stl', bytes));
    expect(read.notes.map((note) => [note.code, note.count])).toEqual([['extraBytes', 3]]);
    expect(massProperties(read.mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
  });

  test('each broken file gets its own code', () => {
    const nan = binary([TRIANGLE, TRIANGLE], 'x');
    new DataView(nan.buffer).setFloat32(84 + 50 + 12, Number.NaN, true);
    const infinite = binary([TRIANGLE], 'x');
    new DataView(infinite.buffer).setFloat32(84 + 16, -Infinity, true);
    const cut = text(TETRAHEDRON).subarray(0, 150);
    const cases: readonly (readonly [string, Uint8Array, string, RegExp])[] = [
      ['empty', new Uint8Array(0), 'MESH_EMPTY', /no triangle/],
      ['header alone', binary([], 'x'), 'MESH_EMPTY', /no triangle/],
      ['solid without facets', new TextEncoder().encode('solid a\nendsolid a\n'), 'MESH_EMPTY', /no triangle/],
      ['half a header', new Uint8Array(40), 'MESH_TRUNCATED', /40 bytes/],
      ['NaN', nan, 'MESH_NOT_FINITE', /triangle 2/],
      ['infinity', infinite, 'MESH_NOT_FINITE', /triangle 1/],
      ['text NaN', textWith('nan'), 'MESH_NOT_FINITE', /line 4: triangle 1/],
      ['text too large', textWith('1e999'), 'MESH_NOT_FINITE', /line 4: triangle 1/],
      ['decimal comma', textWith('1,5'), 'MESH_MALFORMED', /line 4: expected a number, found "1,5"/],
      ['cut text', cut, 'MESH_TRUNCATED', /ends inside a facet/],
    ];
    for (const [what, bytes, expected, message] of cases) {
      expect([what, code(() => readStl(bytesSource('part.stl', bytes)))]).toEqual([what, expected]);
      expect(() => readStl(bytesSource('part.stl', bytes))).toThrow(message);
      expect(() => readStl(bytesSource('part.stl', bytes))).toThrow(/^part\.stl: /);
    }
  });

  test('text without its last line is read with a doubt', () => {
    const whole = new TextDecoder().decode(text(TETRAHEDRON));
    const read = readStl(bytesSource('a.stl', new TextEncoder().encode(whole.slice(0, whole.indexOf('endsolid')))));
    expect(read.notes.map((note) => note.code)).toEqual(['endMissing']);
  });
});

type Triangle = readonly number[];
const TRIANGLE: Triangle = [0, 0, 0, 1, 0, 0, 0, 1, 0];
const TETRAHEDRON: readonly Triangle[] = [
  [0, 0, 0, 0, 1, 0, 1, 0, 0],
  [0, 0, 0, 1, 0, 0, 0, 0, 1],
  [0, 0, 0, 0, 0, 1, 0, 1, 0],
  [1, 0, 0, 0, 1, 0, 0, 0, 1],
];

function manyTriangles(count: number): Triangle[] {
  return Array.from({ length: count }, (_, t) => [t, 0, 0, t + 1, 0, 0, t, 1, (t % 7) / 8]);
}

function binary(triangles: readonly Triangle[], header: string): Uint8Array {
  const bytes = new Uint8Array(84 + 50 * triangles.length);
  bytes.set(new TextEncoder().encode(header));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, triangles.length, true);
  triangles.forEach((corners, t) => {
    corners.forEach((value, i) => {
      view.setFloat32(84 + 50 * t + 12 + 4 * i, value, true);
    });
  });
  return bytes;
}

function text(triangles: readonly Triangle[]): Uint8Array {
  const facets = triangles.map((c) => {
    const lines = [0, 3, 6].map((k) => `      vertex ${c[k]} ${c[k + 1]} ${c[k + 2]}\n`);
    return `  facet normal 0 0 0\n    outer loop\n${lines.join('')}    endloop\n  endfacet\n`;
  });
  return new TextEncoder().encode(`solid made\n${facets.join('')}endsolid made\n`);
}

function textWith(number: string): Uint8Array {
  return new TextEncoder().encode(
    `solid a\nfacet normal 0 0 0\nouter loop\nvertex ${number} 0 0\nvertex 0 1 0\nvertex 0 0 1\nendloop\nendfacet\nendsolid\n`,
  );
}

function code(run: () => unknown): string {
  try {
    run();
  } catch (error) {
    if (error instanceof StonehandError) return error.code;
    throw error;
  }
  return 'none';
}
