import { Document, NodeIO } from '@gltf-transform/core';
import { bytesSource, massProperties, readingOf, readMesh, topology, transformMesh } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { expectSameCounts, expectSameFigures } from './agreement.ts';
import { REFERENCE_ABSENT, referenceMeshes, referenceSource } from './reference-meshes.ts';

// z up back to the file's y up, in which the reference figures are: (x, y, z) → (x, z, −y)
const FILE_AXES = [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0];

describe.skipIf(REFERENCE_ABSENT)('reference meshes (skipped where ../shared/data/meshes is absent)', () => {
  for (const [file, expected] of referenceMeshes()) {
    if (!file.endsWith('.glb')) continue;
    test(`${file} measures as VTK, CGAL, Open3D and numpy say`, async () => {
      const read = await readMesh(referenceSource(file));
      expect(read.unit).toBe('meter');
      const turned = { ...read, mesh: transformMesh(read.mesh, FILE_AXES) };
      expectSameCounts(turned, expected);
      expectSameFigures(turned, expected, 1e-12);
    });
  }

  test('pins.glb holds millimetres in truth: 254 m are doubted', async () => {
    const reading = readingOf('pins.glb', await readMesh(referenceSource('pins.glb')), {
      unit: 'meter',
      unitFrom: 'file',
    });
    expect(reading.findings.map((finding) => finding.code)).toContain('oddSize');
  });
});

describe('glTF', () => {
  test('a box standing on its y axis lies up in z, and metres are stated', async () => {
    const { mesh, unit, names } = await readMesh(bytesSource('a.glb', await boxGlb((node) => node)));
    expect([unit, names]).toEqual(['meter', ['box']]);
    expect(massProperties(mesh).boxMm).toEqual({ min: [0, -3, 0], max: [1, 0, 2] });
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(6, 6);
  });

  test('a mirrored node keeps its volume positive, a nested one multiplies', async () => {
    const mirrored = await readMesh(bytesSource('a.glb', await boxGlb((node) => node.setScale([-1, 1, 1]))));
    expect(massProperties(mirrored.mesh).volumeMm3).toBeCloseTo(6, 6);
    const nested = await readMesh(
      bytesSource('a.glb', await boxGlb((node) => node.setScale([2, 2, 2]).setTranslation([5, 0, 0]))),
    );
    expect(massProperties(nested.mesh).volumeMm3).toBeCloseTo(48, 5);
    expect(massProperties(nested.mesh).boxMm.min[0]).toBeCloseTo(5, 6);
  });

  test('strips wind every other triangle the other way', async () => {
    const document = new Document();
    const points = document.createAccessor().setType('VEC3').setBuffer(document.createBuffer());
    // The tetrahedron 0 1 2 3 as one strip 0 1 2 3 0 1.
    const p = [
      [0, 0, 0],
      [0, 1, 0],
      [1, 0, 0],
      [0, 0, 1],
      [0, 0, 0],
      [0, 1, 0],
    ];
    points.setArray(Float32Array.from(p.flat()));
    const primitive = document.createPrimitive().setMode(5).setAttribute('POSITION', points);
    document.createScene().addChild(document.createNode().setMesh(document.createMesh().addPrimitive(primitive)));
    const { mesh } = await readMesh(bytesSource('a.glb', await new NodeIO().writeBinary(document)));
    expect(topology(mesh)).toMatchObject({ closed: true, orientationConsistent: true });
    expect(Math.abs(massProperties(mesh).volumeMm3)).toBeCloseTo(1 / 6, 12);
  });

  test('several nodes: one mesh placed twice, names and materials kept; pictures elsewhere and animations do no harm', async () => {
    const glb = await boxGlb((node) => node);
    const json = glbJson(glb);
    const twice = glbWith(glb, {
      ...json,
      nodes: [{ mesh: 0 }, { mesh: 0, translation: [5, 0, 0], scale: [-1, 1, 1] }, { children: [1] }, { mesh: 0 }],
      scenes: [{ nodes: [0, 2] }, { nodes: [3] }],
      materials: [{ name: 'unused' }, { name: 'grey' }],
      meshes: [{ ...json.meshes[0]!, primitives: json.meshes[0]!.primitives.map((p) => ({ ...p, material: 1 })) }],
      images: [{ uri: 'not-here.png' }],
      textures: [{ source: 0 }],
      animations: [{ channels: [], samplers: [] }],
      skins: 'not even a list',
    });
    const { mesh, names, materials } = await readMesh(bytesSource('a.glb', twice));
    expect([names, materials]).toEqual([['box'], ['grey']]);
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(12, 6);
    expect(massProperties(mesh).boxMm).toEqual({ min: [0, -3, 0], max: [5, 0, 2] });
  });

  test('coordinates in whole numbers (KHR_mesh_quantization) are read, normalised ones as shares of their type', async () => {
    const points = Int16Array.from([0, 0, 0, 0, 32767, 0, 0, 0, 0, 32767, 0, 0, 0, 0, 32767, 0]); // stride 8
    const data = Buffer.concat([Buffer.from(points.buffer), Buffer.from([0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3])]);
    const json = {
      asset: { version: '2.0' },
      extensionsRequired: ['KHR_mesh_quantization'],
      scenes: [{ nodes: [0] }],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, indices: 1 }] }],
      accessors: [
        { bufferView: 0, componentType: 5122, normalized: true, count: 4, type: 'VEC3' },
        { bufferView: 1, componentType: 5121, count: 12, type: 'SCALAR' },
      ],
      bufferViews: [
        { buffer: 0, byteLength: 32, byteStride: 8 },
        { buffer: 0, byteOffset: 32, byteLength: 12 },
      ],
      buffers: [{ byteLength: 44, uri: `data:application/octet-stream;base64,${data.toString('base64')}` }],
    };
    const { mesh } = await readMesh(bytesSource('a.gltf', new TextEncoder().encode(JSON.stringify(json))));
    // A left-handed corner order turned by nothing: legs of 2, volume 8/6; the sign is the winding's.
    expect(Math.abs(massProperties(mesh).volumeMm3)).toBeCloseTo(8 / 6, 12);
  });

  test('a cut GLB and a glTF whose data lies elsewhere are refused in one line', async () => {
    const glb = await boxGlb((node) => node);
    await expect(readMesh(bytesSource('a.glb', glb.subarray(0, 200)))).rejects.toMatchObject({
      code: 'MESH_MALFORMED',
    });
    const json = {
      asset: { version: '2.0' },
      buffers: [{ uri: 'elsewhere.bin', byteLength: 36 }],
      bufferViews: [{ buffer: 0, byteLength: 36 }],
      accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3' }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 } }] }],
      nodes: [{ mesh: 0 }],
      scenes: [{ nodes: [0] }],
    };
    await expect(readMesh(bytesSource('a.gltf', new TextEncoder().encode(JSON.stringify(json))))).rejects.toMatchObject(
      {
        code: 'MESH_MALFORMED',
      },
    );
  });
});

interface GlbJson {
  readonly meshes: readonly { readonly name: string; readonly primitives: readonly object[] }[];
}

function glbJson(glb: Uint8Array): GlbJson {
  const length = new DataView(glb.buffer, glb.byteOffset).getUint32(12, true);
  return JSON.parse(new TextDecoder().decode(glb.subarray(20, 20 + length))) as GlbJson;
}

/** The same GLB with another JSON chunk. */
function glbWith(glb: Uint8Array, json: object): Uint8Array {
  const length = new DataView(glb.buffer, glb.byteOffset).getUint32(12, true);
  let text = JSON.stringify(json);
  text += ' '.repeat((4 - (text.length % 4)) % 4);
  const out = new Uint8Array([...glb.subarray(0, 20), ...new TextEncoder().encode(text), ...glb.subarray(20 + length)]);
  new DataView(out.buffer).setUint32(8, out.length, true);
  new DataView(out.buffer).setUint32(12, text.length, true);
  return out;
}

type GltfNode = ReturnType<Document['createNode']>;

/** 1 × 2 × 3, y up. */
async function boxGlb(place: (node: GltfNode) => GltfNode): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const corners = Array.from({ length: 8 }, (_, i) => [i & 1, i & 2, (i & 4) * 0.75]).flat();
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ] as const;
  const indices = quads.flatMap(([a, b, c, d]) => [a, b, c, a, c, d]);
  const primitive = document
    .createPrimitive()
    .setAttribute(
      'POSITION',
      document.createAccessor().setType('VEC3').setArray(Float32Array.from(corners)).setBuffer(buffer),
    )
    .setIndices(document.createAccessor().setType('SCALAR').setArray(Uint16Array.from(indices)).setBuffer(buffer));
  const outer = document
    .createNode()
    .addChild(place(document.createNode().setMesh(document.createMesh('box').addPrimitive(primitive))));
  document.createScene().addChild(outer);
  return new NodeIO().writeBinary(document);
}
