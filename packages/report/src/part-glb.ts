import { Document, WebIO } from '@gltf-transform/core';
import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { cividis, linear } from './colours.ts';
import { faceNormals, overhangDegrees } from './raster.ts';

export type PartGlbOptions = Readonly<{
  name?: string;
  overhangFromVerticalDeg?: number;
  generator?: string;
  /** support columns in the same coordinates, drawn see-through */
  support?: Mesh;
}>;

const PLAIN: readonly [number, number, number] = [206, 202, 194];

/**
 * A posed mesh as binary glTF 2.0 for viewers: metres, y up ((x, y, z) mm → (x, z, −y)/1000), the overhang ramp as COLOR_0
 * (linear, as the standard wants). No normals are written: readers must then shade flat, which is right for printed facets.
 * The ramp's ends stand in the mesh's extras.
 * @throws StonehandError MESH_EMPTY
 */
export async function partGlb(
  mesh: Mesh,
  { name = 'part', overhangFromVerticalDeg = 45, generator = 'stonehand', support }: PartGlbOptions = {},
): Promise<Uint8Array> {
  if (mesh.triangles.length === 0)
    throw new StonehandError(
      'MESH_EMPTY',
      `${name}: there is no triangle to write`,
      'Give a mesh with at least one triangle.',
    );
  const { positions, colours, indices } = colouredVertices(mesh, overhangFromVerticalDeg);
  const doc = new Document();
  doc.getRoot().getAsset().generator = generator;
  const buffer = doc.createBuffer();
  const accessor = (
    type: 'VEC3' | 'VEC4' | 'SCALAR',
    array: Float32Array<ArrayBuffer> | Uint16Array<ArrayBuffer> | Uint32Array<ArrayBuffer>,
  ) => doc.createAccessor().setType(type).setArray(array).setBuffer(buffer);
  const material = doc.createMaterial('overhang').setMetallicFactor(0).setRoughnessFactor(0.9).setDoubleSided(true);
  const primitive = doc
    .createPrimitive()
    .setAttribute('POSITION', accessor('VEC3', positions))
    .setAttribute('COLOR_0', accessor('VEC4', colours).setNormalized(true))
    .setIndices(accessor('SCALAR', indices))
    .setMaterial(material);
  const glMesh = doc
    .createMesh(name)
    .addPrimitive(primitive)
    .setExtras({ overhangRampDeg: [overhangFromVerticalDeg, 90], ramp: 'cividis' });
  const scene = doc.createScene(name).addChild(doc.createNode(name).setMesh(glMesh));
  if (support !== undefined) {
    const seeThrough = doc
      .createMaterial('support')
      .setBaseColorFactor([linear(86 / 255), linear(180 / 255), linear(233 / 255), 0.4])
      .setAlphaMode('BLEND')
      .setMetallicFactor(0)
      .setDoubleSided(true);
    const columns = doc
      .createPrimitive()
      .setAttribute('POSITION', accessor('VEC3', metres(support.positions)))
      .setIndices(accessor('SCALAR', new Uint32Array(support.triangles)))
      .setMaterial(seeThrough);
    scene.addChild(doc.createNode('support').setMesh(doc.createMesh('support').addPrimitive(columns)));
  }
  doc.getRoot().setDefaultScene(scene);
  return new WebIO().writeBinary(doc);
}

/** x, y, z in mm to x, z, −y in metres. */
function metres(p: Mesh['positions']): Float32Array<ArrayBuffer> {
  const out = new Float32Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    out[i] = p[i]! / 1000;
    out[i + 1] = p[i + 2]! / 1000;
    out[i + 2] = -p[i + 1]! / 1000;
  }
  return out;
}

type Coloured = Readonly<{
  positions: Float32Array<ArrayBuffer>;
  colours: Uint16Array<ArrayBuffer>;
  indices: Uint32Array<ArrayBuffer>;
}>;

/** A vertex is written once for each colour of the faces around it: colours belong to faces, glTF keeps them with vertices. */
function colouredVertices(mesh: Mesh, limitDeg: number): Coloured {
  const overhang = overhangDegrees(mesh, faceNormals(mesh));
  const degrees = 91; // whole degrees: finer cannot be seen, coarser shares more vertices
  const seen = new Map<number, number>();
  const from: number[] = [];
  const colourOf: number[] = [];
  const indices = new Uint32Array(mesh.triangles.length);
  for (let k = 0; k < mesh.triangles.length; k++) {
    const deg = Math.round(overhang[Math.floor(k / 3)]!);
    const colour = deg > limitDeg ? deg : 0;
    const key = mesh.triangles[k]! * degrees + colour;
    let at = seen.get(key);
    if (at === undefined) {
      at = from.length;
      seen.set(key, at);
      from.push(mesh.triangles[k]!);
      colourOf.push(colour);
    }
    indices[k] = at;
  }
  const positions = new Float32Array(3 * from.length);
  const colours = new Uint16Array(4 * from.length);
  for (let i = 0; i < from.length; i++) {
    const v = 3 * from[i]!;
    positions[3 * i] = mesh.positions[v]! / 1000;
    positions[3 * i + 1] = mesh.positions[v + 2]! / 1000;
    positions[3 * i + 2] = -mesh.positions[v + 1]! / 1000;
    const deg = colourOf[i]!;
    const rgb = deg === 0 ? PLAIN : cividis((deg - limitDeg) / Math.max(1, 90 - limitDeg));
    for (let c = 0; c < 3; c++) colours[4 * i + c] = Math.round(65535 * linear(rgb[c as 0 | 1 | 2] / 255));
    colours[4 * i + 3] = 65535;
  }
  return { positions, colours, indices };
}
