import { bytesSource, massProperties, readMesh, topology } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { expectSameCounts, expectSameFigures, within } from './agreement.ts';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';

const FAN_ONLY = 'concave_polygon.obj'; // its counts in reference.json are those of a wrong fan split; see below

describe.skipIf(REFERENCE_ABSENT)('reference meshes (skipped where ../shared/data/meshes is absent)', () => {
  for (const [file, expected] of referenceMeshes()) {
    if (!/\.(obj|ply|gz)$/.test(file) || file === FAN_ONLY) continue;
    test(`${file} measures as VTK, CGAL, Open3D and numpy say`, async () => {
      const read = await readMesh(referenceSource(file));
      expectSameCounts(read, expected);
      expectSameFigures(read, expected, 1e-11); // sums over up to a million triangles
    });
  }

  test('a concave outline of 66 corners has the area that Newell’s formula gives it, not that of a fan', async () => {
    const { mesh } = await readMesh(referenceSource(FAN_ONLY));
    within(massProperties(mesh).areaMm2, 0.2454966872, 1e-10, 'area'); // reference.json, reader.polygon_area_by_newell
    expect(mesh.triangles.length / 3).toBe(64);
    expect(mesh.positions.length / 3).toBe(64);
  });
});

describe('OBJ', () => {
  test('indices from the end, joined lines, comments and every form of corner', async () => {
    const text = `# a tetrahedron\no spire\nv 0 0 0\nv 1 0 0 1.0\nv 0 1 0\r\nvt 0 0\nvn 0 0 1\nv 0 0 \\\n 1\n
f 1/1/1 3//1 2/1\nf 1 2 \\\n  -1\nf -4 -1 -2\nf 2 3 4\n`;
    const file = await readMesh(bytesSource('model', bytes(text)));
    expect(file).toMatchObject({ format: 'OBJ', names: ['spire'] });
    expect(topology(file.mesh)).toMatchObject({ closed: true, orientationConsistent: true, euler: 2 });
    expect(massProperties(file.mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
  });

  test('concave outlines keep their area and every corner in any plane, from any first corner, wound either way', async () => {
    const shapes: readonly Readonly<{ name: string; ring: readonly (readonly [number, number])[]; area: number }>[] = [
      {
        name: 'arrow head',
        ring: [
          [0, 0],
          [4, 0],
          [1, 1],
          [0, 4],
        ],
        area: 4,
      },
      {
        name: 'L',
        ring: [
          [0, 0],
          [40, 0],
          [40, 10],
          [10, 10],
          [10, 40],
          [0, 40],
        ],
        area: 700,
      },
      {
        name: 'L with corners in the middle of its sides',
        ring: [
          [0, 0],
          [20, 0],
          [40, 0],
          [40, 10],
          [10, 10],
          [10, 20],
          [10, 40],
          [0, 40],
          [0, 15],
        ],
        area: 700,
      },
      {
        name: 'comb',
        ring: [
          [0, 0],
          [7, 0],
          [7, 5],
          [6, 5],
          [6, 1],
          [5, 1],
          [5, 5],
          [4, 5],
          [4, 1],
          [3, 1],
          [3, 5],
          [2, 5],
          [2, 1],
          [1, 1],
          [1, 5],
          [0, 5],
        ],
        area: 7 + 16,
      },
      {
        name: 'square with a square hole joined by a bridge',
        ring: [
          [0, 0],
          [6, 0],
          [6, 6],
          [0, 6],
          [0, 0],
          [2, 2],
          [2, 4],
          [4, 4],
          [4, 2],
          [2, 2],
        ],
        area: 32,
      },
    ];
    const planes = [
      (x: number, y: number) => [x, y, 3],
      (x: number, y: number) => [3, x, y],
      (x: number, y: number) => [y, -7, x],
      (x: number, y: number) => [x, y, 0.5 * x - 0.25 * y],
    ];
    for (const { name, ring, area } of shapes) {
      for (const [p, plane] of planes.entries()) {
        for (let first = 0; first < ring.length; first++) {
          for (const outline of [ring, [...ring].reverse()]) {
            const turned = [...outline.slice(first), ...outline.slice(0, first)];
            const text = `${turned.map(([x, y]) => `v ${plane(x, y).join(' ')}`).join('\n')}\nf ${turned.map((_, i) => i + 1).join(' ')}\n`;
            const { mesh } = await readMesh(bytesSource('a.obj', bytes(text)));
            const slope = p === 3 ? Math.sqrt(1 + 0.25 + 0.0625) : 1;
            within(
              massProperties(mesh).areaMm2,
              area * slope,
              1e-12 * area,
              `${name}, plane ${p}, first corner ${first}`,
            );
            expect(mesh.triangles.length / 3).toBe(ring.length - 2);
          }
        }
      }
    }
  });

  test('a prism whose ends are concave polygons is closed', async () => {
    const ring = [
      [0, 0],
      [40, 0],
      [40, 10],
      [10, 10],
      [10, 40],
      [0, 40],
    ] as const;
    const v = [0, 5].flatMap((z) => ring.map(([x, y]) => `v ${x} ${y} ${z}`));
    const sides = ring.map((_, i) => `f ${i + 1} ${((i + 1) % 6) + 1} ${((i + 1) % 6) + 7} ${i + 7}`);
    const text = [...v, 'f 6 5 4 3 2 1', 'f 7 8 9 10 11 12', ...sides].join('\n');
    const { mesh } = await readMesh(bytesSource('a.obj', bytes(text)));
    expect(topology(mesh)).toMatchObject({ closed: true, orientationConsistent: true });
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(3500, 9);
    // L profile, leg 10: centre at (13.571429, 13.571429) from its corner
    within(massProperties(mesh).centreMm![0], 13.571429, 5e-7, 'centre x');
  });

  test('wrong files are refused with their line', async () => {
    const cases = [
      ['v 0 0 0\nf 1 2 3\n', /line 2: a face names vertex 2; there are 1 so far/],
      ['v 0 0 0\nv 1 0 0\nf 1 2\n', /line 3: a face has 2 vertices/],
      ['v 0 0\n', /line 1: expected a coordinate/],
      ['v 0 0 0\nf 0 1 1\n', /line 2: a face names vertex 0/],
      ['v 0 0 nan\n', /line 1: a vertex has a coordinate that is not a finite number/],
      ['v 0 0 0\nf a b c\n', /line 2: expected a vertex number, found "a"/],
      ['v 0 0 0\n', /holds no triangle/],
    ] as const;
    for (const [text, message] of cases)
      await expect(readMesh(bytesSource('a.obj', bytes(text)))).rejects.toThrow(message);
  });
});

describe('OBJ names', () => {
  test('objects, groups and materials in use are kept, each once, in the order of the file; a byte order mark does no harm', async () => {
    const text =
      '\ufeffv 0 0 0\nv 1 0 0\nv 0 1 0\nmtllib a.mtl\no left wing\ng feathers tips\nusemtl grey\nf 1 2 3\ng\nusemtl red\ng feathers tips\nf 1 3 2\no right wing\nusemtl grey\nf 1 2 3\n';
    const file = await readMesh(bytesSource('a.obj', bytes(text)));
    expect(file.names).toEqual(['left wing', 'feathers tips', 'right wing']);
    expect(file.materials).toEqual(['grey', 'red']);
    expect(file.mesh.triangles.length / 3).toBe(3);
  });
});

describe('PLY', () => {
  const STRIPS =
    'element vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n';

  test('triangle strips with their ends, and lines that end in a single carriage return', async () => {
    // The tetrahedron 0 1 2 3 as the strip 1 0 2 3 1 0, and one side again as a strip of its own the other way round.
    const body = '0 0 0\n1 0 0\n0 1 0\n0 0 1\n11 -1 1 0 2 3 1 0 -1 0 2 1\n';
    const text = `ply\nformat ascii 1.0\n${STRIPS}${body}`;
    for (const form of [text, text.replaceAll('\n', '\r')]) {
      const { mesh } = await readMesh(bytesSource('a.ply', bytes(form)));
      expect(mesh.triangles.length / 3).toBe(5);
      const strip = { ...mesh, triangles: mesh.triangles.slice(0, 12) };
      expect(topology(strip)).toMatchObject({ closed: true, orientationConsistent: true });
      expect(Math.abs(massProperties(strip).volumeMm3)).toBeCloseTo(1 / 6, 15);
    }
  });

  test('a binary file whose first byte of data is a line feed loses none', async () => {
    const head = bytes(
      'ply\nformat binary_little_endian 1.0\nelement vertex 3\nproperty char x\nproperty char y\nproperty char z\nelement face 1\nproperty list uchar uchar vertex_index\nend_header\n',
    );
    const file = new Uint8Array([...head, 10, 0, 0, 0, 13, 0, 0, 0, 10, 3, 0, 1, 2]);
    const { mesh } = await readMesh(bytesSource('a.ply', file));
    expect([...mesh.positions]).toEqual([10, 0, 0, 0, 13, 0, 0, 0, 10]);
  });

  const HEADER =
    'element vertex 4\nproperty double x\nproperty uchar colour\nproperty double y\nproperty list uchar short spare\nproperty double z\nelement strange 1\nproperty list uint double what\nelement face 4\nproperty uchar flags\nproperty list uchar uint vertex_index\nend_header\n';
  const POINTS = [
    [0, 0, 0],
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const;
  const FACES = [
    [0, 2, 1],
    [0, 1, 3],
    [0, 3, 2],
    [1, 2, 3],
  ] as const;

  function binaryPly(little: boolean): Uint8Array {
    const head = bytes(`ply\nformat binary_${little ? 'little' : 'big'}_endian 1.0\ncomment made here\n${HEADER}`);
    const body: number[] = [];
    const put = (size: number, write: (view: DataView) => void): void => {
      const view = new DataView(new ArrayBuffer(size));
      write(view);
      body.push(...new Uint8Array(view.buffer));
    };
    for (const [x, y, z] of POINTS) {
      put(8, (d) => d.setFloat64(0, x, little));
      body.push(200);
      put(8, (d) => d.setFloat64(0, y, little));
      body.push(2);
      put(2, (d) => d.setInt16(0, -5, little));
      put(2, (d) => d.setInt16(0, 7, little));
      put(8, (d) => d.setFloat64(0, z, little));
    }
    put(4, (d) => d.setUint32(0, 1, little));
    put(8, (d) => d.setFloat64(0, 9, little));
    for (const face of FACES) {
      body.push(1, 3);
      for (const corner of face) put(4, (d) => d.setUint32(0, corner, little));
    }
    return new Uint8Array([...head, ...body]);
  }

  test('text and both byte orders give the same mesh, unknown properties and elements passed over', async () => {
    const vertices = POINTS.map(([x, y, z]) => `${x} 200 ${y} 2 -5 7 ${z}`).join('\n');
    const text = `ply\nformat ascii 1.0\n${HEADER}${vertices}\n1 9\n${FACES.map((f) => `1 3 ${f.join(' ')}`).join('\n')}\n`;
    const files = [bytes(text), binaryPly(true), binaryPly(false)].map((b) => readMesh(bytesSource('a.ply', b)));
    const [ascii, little, big] = await Promise.all(files);
    expect(massProperties(ascii!.mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
    expect(little!.mesh).toEqual(ascii!.mesh);
    expect(big!.mesh).toEqual(ascii!.mesh);
  });

  test('wrong files are refused', async () => {
    const whole = binaryPly(true);
    const text = (body: string): Uint8Array => bytes(`ply\nformat ascii 1.0\n${body}`);
    const cases = [
      [whole.subarray(0, whole.length - 5), 'MESH_TRUNCATED'],
      [
        text(
          'element vertex 4000000000\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n',
        ),
        'MESH_TRUNCATED',
      ],
      [
        text('element vertex 1\nproperty float x\nproperty float y\nproperty float z\nend_header\n0 0 0\n'),
        'MESH_EMPTY',
      ],
      [
        text(
          'element vertex 1\nproperty float x\nproperty float y\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0\n3 0 0 0\n',
        ),
        'MESH_MALFORMED',
      ],
      [
        text(
          'element vertex 1\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n3 0 1 0\n',
        ),
        'MESH_MALFORMED',
      ],
      [
        text(
          'element vertex 1\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 inf 0\n3 0 0 0\n',
        ),
        'MESH_NOT_FINITE',
      ],
      [text('element vertex x\n'), 'MESH_MALFORMED'],
    ] as const;
    for (const [file, code] of cases)
      await expect(readMesh(bytesSource('a.ply', file))).rejects.toMatchObject({ code });
  });
});

function bytes(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}
