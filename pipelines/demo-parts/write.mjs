// Writers for the demo's meshes: binary STL, OBJ, 3MF (core 1.x), GLB. Same bytes every time.
import { Document, NodeIO } from '@gltf-transform/core';
import { strToU8, zipSync } from 'fflate';

/** Points merged by their exact 32-bit values, collapsed triangles left out. */
export function weld({ points, triangles }) {
  const index = new Map();
  const kept = [];
  const name = new Uint32Array(points.length / 3);
  for (let i = 0; i < name.length; i++) {
    const p = [points[3 * i] + 0, points[3 * i + 1] + 0, points[3 * i + 2] + 0];
    const key = p.join();
    if (!index.has(key)) {
      index.set(key, kept.length / 3);
      kept.push(...p);
    }
    name[i] = index.get(key);
  }
  const out = [];
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [name[triangles[t]], name[triangles[t + 1]], name[triangles[t + 2]]];
    if (a !== b && b !== c && c !== a) out.push(a, b, c);
  }
  return { points: Float32Array.from(kept), triangles: Uint32Array.from(out) };
}

/** Every directed edge once, and its opposite once: closed, oriented, no edge with more than two faces. */
export function openEdges({ triangles }) {
  const seen = new Map();
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k++) {
      const key = triangles[t + k] * 2 ** 26 + triangles[t + ((k + 1) % 3)];
      seen.set(key, (seen.get(key) ?? 0) + 1);
    }
  }
  let open = 0;
  for (const [key, count] of seen) {
    const a = Math.floor(key / 2 ** 26);
    const b = key % 2 ** 26;
    if (count !== 1 || seen.get(b * 2 ** 26 + a) !== 1) open++;
  }
  return open;
}

/** Sum of tetrahedra about the box centre. */
export function volumeMm3({ points, triangles }) {
  const mid = [0, 1, 2].map((d) => (Math.min(...column(points, d)) + Math.max(...column(points, d))) / 2);
  let six = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => [0, 1, 2].map((d) => points[3 * triangles[t + k] + d] - mid[d]));
    six += a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  return six / 6;
}
const column = (points, d) => Array.from({ length: points.length / 3 }, (_, i) => points[3 * i + d]);

export function stlBytes({ points, triangles }, name) {
  const count = triangles.length / 3;
  const bytes = new Uint8Array(84 + 50 * count);
  bytes.set(strToU8(name.slice(0, 80)));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  for (let t = 0; t < count; t++) {
    const p = [0, 1, 2].map((k) => [0, 1, 2].map((d) => points[3 * triangles[3 * t + k] + d]));
    const u = [0, 1, 2].map((d) => p[1][d] - p[0][d]);
    const v = [0, 1, 2].map((d) => p[2][d] - p[0][d]);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const length = Math.hypot(...n) || 1;
    [...n.map((x) => x / length), ...p.flat()].forEach((x, k) => {
      view.setFloat32(84 + 50 * t + 4 * k, x, true);
    });
  }
  return bytes;
}

export function objBytes({ points, triangles }, name) {
  const lines = [`# ${name}, millimetres, z up`, `o ${name}`];
  for (let i = 0; i < points.length; i += 3) lines.push(`v ${points[i]} ${points[i + 1]} ${points[i + 2]}`);
  for (let t = 0; t < triangles.length; t += 3)
    lines.push(`f ${triangles[t] + 1} ${triangles[t + 1] + 1} ${triangles[t + 2] + 1}`);
  return strToU8(`${lines.join('\n')}\n`);
}

/** 3MF core specification 1.3: OPC package with content types, a relationship, one model part in millimetres. */
export function threeMfBytes({ points, triangles }, name) {
  const vertices = [];
  for (let i = 0; i < points.length; i += 3)
    vertices.push(`<vertex x="${points[i]}" y="${points[i + 1]}" z="${points[i + 2]}"/>`);
  const faces = [];
  for (let t = 0; t < triangles.length; t += 3)
    faces.push(`<triangle v1="${triangles[t]}" v2="${triangles[t + 1]}" v3="${triangles[t + 2]}"/>`);
  const model = `<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
<resources><object id="1" type="model" name="${name}"><mesh><vertices>${vertices.join('')}</vertices><triangles>${faces.join('')}</triangles></mesh></object></resources>
<build><item objectid="1"/></build>
</model>`;
  const types = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>`;
  const relations = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/></Relationships>`;
  // A fixed date, as the local fields of the zip format; the bytes must not depend on the day or the time zone.
  const options = { mtime: new Date(1980, 0, 1), level: 9, os: 3 };
  return zipSync({
    '[Content_Types].xml': [strToU8(types), options],
    '_rels/.rels': [strToU8(relations), options],
    '3D/3dmodel.model': [strToU8(model), options],
  });
}

/** glTF 2.0: metres, y up: (x, y, z) mm becomes (x, z, −y) / 1000. */
export async function glbBytes({ points, triangles }, name) {
  const document = new Document();
  const buffer = document.createBuffer();
  const turned = new Float32Array(points.length);
  for (let i = 0; i < points.length; i += 3) {
    turned[i] = points[i] / 1000;
    turned[i + 1] = points[i + 2] / 1000;
    turned[i + 2] = -points[i + 1] / 1000;
  }
  const position = document.createAccessor().setType('VEC3').setArray(turned).setBuffer(buffer);
  const indices = document.createAccessor().setType('SCALAR').setArray(Uint32Array.from(triangles)).setBuffer(buffer);
  const primitive = document.createPrimitive().setAttribute('POSITION', position).setIndices(indices);
  const mesh = document.createMesh(name).addPrimitive(primitive);
  document.createScene(name).addChild(document.createNode(name).setMesh(mesh));
  return new NodeIO().writeBinary(document);
}
