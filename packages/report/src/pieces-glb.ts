import { Document, WebIO } from '@gltf-transform/core';
import { StonehandError } from '@stonehand/base';
import { CATEGORY_COLOURS, linear } from './colours.ts';
import type { NamedBody } from './exploded.ts';

/**
 * Named bodies as one binary glTF 2.0 scene, a node and a colour each (Okabe–Ito in turn): metres, y up
 * ((x, y, z) mm → (x, z, −y)/1000). No normals are written, so that readers shade flat.
 * @throws StonehandError MESH_EMPTY when there is nothing to write
 */
export async function piecesGlb(bodies: readonly NamedBody[], generator = 'stonehand'): Promise<Uint8Array> {
  if (bodies.length === 0)
    throw new StonehandError('MESH_EMPTY', 'there is no piece to write', 'Name a part that is cut.');
  const doc = new Document();
  doc.getRoot().getAsset().generator = generator;
  const buffer = doc.createBuffer();
  const scene = doc.createScene('pieces');
  bodies.forEach(({ name, mesh }, i) => {
    const positions = new Float32Array(mesh.positions.length);
    for (let v = 0; v < positions.length; v += 3) {
      positions[v] = (mesh.positions[v]! + mesh.originMm[0]) / 1000;
      positions[v + 1] = (mesh.positions[v + 2]! + mesh.originMm[2]) / 1000;
      positions[v + 2] = -(mesh.positions[v + 1]! + mesh.originMm[1]) / 1000;
    }
    const colour = Number.parseInt(CATEGORY_COLOURS[i % CATEGORY_COLOURS.length]!.slice(1), 16);
    const part = (shift: number): number => linear(((colour >> shift) & 255) / 255);
    const material = doc
      .createMaterial(name)
      .setBaseColorFactor([part(16), part(8), part(0), 1])
      .setMetallicFactor(0)
      .setRoughnessFactor(0.9)
      .setDoubleSided(true);
    const primitive = doc
      .createPrimitive()
      .setAttribute('POSITION', doc.createAccessor().setType('VEC3').setArray(positions).setBuffer(buffer))
      .setIndices(doc.createAccessor().setType('SCALAR').setArray(Uint32Array.from(mesh.triangles)).setBuffer(buffer))
      .setMaterial(material);
    scene.addChild(doc.createNode(name).setMesh(doc.createMesh(name).addPrimitive(primitive)));
  });
  doc.getRoot().setDefaultScene(scene);
  return new WebIO().writeBinary(doc);
}
