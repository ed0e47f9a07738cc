// Small whole files of every format that is read, as starting points for mutations. All made here.
import { gzipSync, strToU8, zipSync } from 'fflate';

const utf8 = (text) => new TextEncoder().encode(text);

// A box of 10 × 20 × 30: corners, and its six sides counter-clockwise from outside.
const CORNERS = Array.from({ length: 8 }, (_, i) => [i & 1 ? 10 : 0, i & 2 ? 20 : 0, i & 4 ? 30 : 0]);
const QUADS = [
  [0, 2, 3, 1],
  [4, 5, 7, 6],
  [0, 1, 5, 4],
  [2, 6, 7, 3],
  [0, 4, 6, 2],
  [1, 3, 7, 5],
];
const TRIANGLES = QUADS.flatMap(([a, b, c, d]) => [
  [a, b, c],
  [a, c, d],
]);

const PLY_HEAD =
  'element vertex 8\nproperty float x\nproperty float y\nproperty double z\nproperty uchar red\nelement spare 2\nproperty list uchar short what\nelement face 6\nproperty list uchar int vertex_indices\nproperty ushort flags\nend_header\n';
const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const PRODUCTION = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';
const MODEL_RELATION = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';

/**
 * Per format: the name that readMesh gets and the bytes, or the entries of an archive and which of them is damaged most;
 * `text` where tokens can be exchanged, `inner` for what can be damaged before it is packed.
 */
export const SEEDS = {
  'stl-binary': { name: 'a.stl', bytes: stlBinary() },
  'stl-text': { name: 'a.stl', bytes: utf8(stlText()), text: true },
  obj: { name: 'a.obj', bytes: utf8(objText()), text: true },
  'ply-text': { name: 'a.ply', bytes: utf8(plyText()), text: true },
  'ply-little': { name: 'a.ply', ...plyBinary(true) },
  'ply-big': { name: 'a.ply', ...plyBinary(false) },
  gltf: {
    name: 'a.gltf',
    bytes: utf8(JSON.stringify(gltfJson(`data:application/octet-stream;base64,${base64(gltfData())}`))),
    text: true,
  },
  glb: {
    name: 'a.glb',
    bytes: glb(utf8(JSON.stringify(gltfJson())), gltfData()),
    inner: [
      { bytes: utf8(JSON.stringify(gltfJson())), text: true, wrap: (json) => glb(json, gltfData()) },
      { bytes: gltfData(), text: false, wrap: (data) => glb(utf8(JSON.stringify(gltfJson())), data) },
    ],
  },
  amf: { name: 'a.amf', bytes: utf8(amfXml()), text: true },
  'amf-zip': { name: 'a.amf', entries: { 'a.amf': utf8(amfXml()) }, mutate: 'a.amf' },
  '3mf': { name: 'a.3mf', entries: threemf(), mutate: '3D/box.model' },
  gzip: {
    name: 'a.stl.gz',
    bytes: gzipSync(stlBinary(), { mtime: 0 }),
    inner: [{ bytes: stlBinary(), text: false, wrap: (bytes) => gzipSync(bytes, { mtime: 0 }) }],
  },
  zip: {
    name: 'a.zip',
    entries: { 'inner.zip': zip({ 'box.stl': stlBinary(), 'readme.txt': utf8('a box') }) },
    mutate: 'inner.zip',
  },
};

/** @param {Record<string, Uint8Array>} entries */
export function zip(entries, level = 6) {
  return zipSync(entries, { level, mtime: new Date(1980, 0, 1) });
}

function stlBinary() {
  const bytes = new Uint8Array(84 + 50 * TRIANGLES.length);
  bytes.set(utf8('made for tests'));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, TRIANGLES.length, true);
  TRIANGLES.forEach((corners, t) => {
    const numbers = corners.flatMap((v) => CORNERS[v]);
    for (let i = 0; i < 9; i++) view.setFloat32(84 + 50 * t + 12 + 4 * i, numbers[i], true);
  });
  return bytes;
}

function stlText() {
  const facets = TRIANGLES.map((corners) => {
    const lines = corners.map((v) => `      vertex ${CORNERS[v].join(' ')}\n`).join('');
    return `  facet normal 0 0 1\n    outer loop\n${lines}    endloop\n  endfacet\n`;
  });
  return `solid box\n${facets.join('')}endsolid box\n`;
}

function objText() {
  const v = CORNERS.map((p) => `v ${p.join(' ')} 1.0\n`).join('');
  const f = QUADS.map((q, i) =>
    i % 2 ? `f ${q.map((k) => `${k + 1}/1/1`).join(' ')}\n` : `f ${q.map((k) => k - 8).join(' ')}\n`,
  );
  return `# a box\nmtllib a.mtl\no box\n${v}vt 0 0\nvn 0 0 1\ng sides\nusemtl grey\n${f.join('')}s off\n`;
}

function plyText() {
  const v = CORNERS.map((p) => `${p.join(' ')} 7\n`).join('');
  return `ply\nformat ascii 1.0\ncomment a box\n${PLY_HEAD}${v}2 1 2\n0\n${QUADS.map((q) => `4 ${q.join(' ')} 3\n`).join('')}`;
}

function plyBinary(little) {
  const head = utf8(`ply\nformat binary_${little ? 'little' : 'big'}_endian 1.0\n${PLY_HEAD}`);
  const out = [];
  const put = (size, method, value) => {
    const view = new DataView(new ArrayBuffer(size));
    view[method](0, value, little);
    out.push(...new Uint8Array(view.buffer));
  };
  for (const [x, y, z] of CORNERS) {
    put(4, 'setFloat32', x);
    put(4, 'setFloat32', y);
    put(8, 'setFloat64', z);
    out.push(7);
  }
  out.push(2);
  put(2, 'setInt16', 1);
  put(2, 'setInt16', 2);
  out.push(0);
  for (const q of QUADS) {
    out.push(4);
    for (const v of q) put(4, 'setInt32', v);
    put(2, 'setUint16', 3);
  }
  const wrap = (body) => Uint8Array.from([...head, ...body]);
  const body = Uint8Array.from(out);
  return { bytes: wrap(body), inner: [{ bytes: body, text: false, wrap }] };
}

function gltfData() {
  const bytes = new Uint8Array(8 * 12 + TRIANGLES.length * 6);
  const view = new DataView(bytes.buffer);
  for (const [i, x] of CORNERS.flat().entries()) view.setFloat32(4 * i, x / 1000, true);
  for (const [i, v] of TRIANGLES.flat().entries()) view.setUint16(96 + 2 * i, v, true);
  return bytes;
}

function gltfJson(uri) {
  return {
    asset: { version: '2.0', generator: 'made for tests' },
    scene: 0,
    scenes: [{ nodes: [0, 2] }],
    nodes: [
      { name: 'group', children: [1], translation: [0.1, 0, 0] },
      { name: 'box', mesh: 0, rotation: [0, Math.SQRT1_2, 0, Math.SQRT1_2], scale: [1, 2, 1] },
      { mesh: 0, matrix: [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0.5, 0, 1] },
    ],
    meshes: [{ name: 'box', primitives: [{ attributes: { POSITION: 0 }, indices: 1, material: 0 }] }],
    materials: [{ name: 'grey' }],
    accessors: [
      { bufferView: 0, componentType: 5126, count: 8, type: 'VEC3', min: [0, 0, 0], max: [0.01, 0.02, 0.03] },
      { bufferView: 1, componentType: 5123, count: 36, type: 'SCALAR' },
    ],
    bufferViews: [
      { buffer: 0, byteOffset: 0, byteLength: 96 },
      { buffer: 0, byteOffset: 96, byteLength: 72 },
    ],
    buffers: [{ byteLength: 168, ...(uri === undefined ? {} : { uri }) }],
  };
}

function glb(text, data) {
  const json = new Uint8Array(Math.ceil(text.length / 4) * 4).fill(0x20);
  json.set(text);
  const bytes = new Uint8Array(12 + 8 + json.length + 8 + data.length);
  const view = new DataView(bytes.buffer);
  [0x46546c67, 2, bytes.length, json.length, 0x4e4f534a].forEach((word, i) => {
    view.setUint32(4 * i, word, true);
  });
  bytes.set(json, 20);
  view.setUint32(20 + json.length, data.length, true);
  view.setUint32(24 + json.length, 0x004e4942, true);
  bytes.set(data, 28 + json.length);
  return bytes;
}

function base64(bytes) {
  return Buffer.from(bytes).toString('base64');
}

function amfXml() {
  const vertices = CORNERS.map(
    ([x, y, z]) => `<vertex><coordinates><x>${x}</x><y>${y}</y><z>${z}</z></coordinates></vertex>`,
  );
  const triangles = TRIANGLES.map(([a, b, c]) => `<triangle><v1>${a}</v1><v2>${b}</v2><v3>${c}</v3></triangle>`);
  return `<?xml version="1.0" encoding="utf-8"?>\n<amf unit="inch" version="1.1"><metadata type="author">us</metadata><object id="1"><metadata type="name">box</metadata><mesh><vertices>${vertices.join('\n')}</vertices><volume materialid="2"><metadata type="name">body</metadata>${triangles.join('\n')}</volume></mesh></object><material id="2"><metadata type="name">grey &amp; hard</metadata></material><constellation id="3"><instance objectid="1"><deltax>5</deltax><rz>90</rz></instance><instance objectid="1"><deltay>1e1</deltay></instance></constellation><constellation id="4"><instance objectid="3"><deltaz>-5</deltaz></instance></constellation></amf>\n`;
}

function threemf() {
  const mesh = `<mesh><vertices>${CORNERS.map(([x, y, z]) => `<vertex x="${x}" y="${y}" z="${z}"/>`).join('\n')}</vertices><triangles>${TRIANGLES.map(([a, b, c]) => `<triangle v1="${a}" v2="${b}" v3="${c}"/>`).join('\n')}</triangles></mesh>`;
  const model = (requires, inside) =>
    strToU8(
      `<?xml version="1.0" encoding="UTF-8"?>\n<model unit="inch" xml:lang="en-US" xmlns="${CORE}" xmlns:p="${PRODUCTION}"${requires}>${inside}</model>`,
    );
  const relations = (targets) =>
    strToU8(
      `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">${targets.map((target, i) => `<Relationship Id="r${i}" Type="${MODEL_RELATION}" Target="${target}"/>`).join('')}</Relationships>`,
    );
  return {
    '[Content_Types].xml': strToU8(
      '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>',
    ),
    '_rels/.rels': relations(['/3D/box.model']),
    '3D/_rels/box.model.rels': relations(['/3D/other.model']),
    '3D/other.model': model('', `<resources><object id="1" name="lid">${mesh}</object></resources><build/>`),
    '3D/box.model': model(
      ' requiredextensions="p"',
      `<metadata name="Title">box</metadata><resources><basematerials id="5"><base name="grey" displaycolor="#888888"/></basematerials><object id="1" type="model" name="box" pid="5" pindex="0">${mesh}</object><object id="2" name="pair"><components><component objectid="1"/><component p:path="/3D/other.model" objectid="1" transform="1 0 0 0 1 0 0 0 -1 50 0 0"/></components></object></resources><build><item objectid="2" transform="0 1 0 -1 0 0 0 0 1 110 20 0"/><item objectid="1"/></build>`,
    ),
  };
}
