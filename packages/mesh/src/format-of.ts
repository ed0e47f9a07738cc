import type { ByteSource } from './byte-source.ts';
import { looksLikeStlText } from './read-stl.ts';

export type MeshFormat = 'gzip' | 'zip' | 'stl' | 'obj' | 'ply' | 'gltf' | 'amf' | 'step' | 'iges' | 'unknown';

/** So many first bytes are enough to tell the formats apart. */
export const LOOK_BYTES = 4096;

/** Extensions of the formats that are read, archives apart. */
export const MESH_EXTENSION: RegExp = /\.(stl|obj|ply|glb|gltf|3mf|amf)$/i;

const BY_EXTENSION: ReadonlyMap<string, MeshFormat> = new Map([
  ['stl', 'stl'],
  ['obj', 'obj'],
  ['ply', 'ply'],
  ['glb', 'gltf'],
  ['gltf', 'gltf'],
  ['3mf', 'zip'],
  ['amf', 'amf'],
  ['step', 'step'],
  ['stp', 'step'],
  ['iges', 'iges'],
  ['igs', 'iges'],
]);

/** The format of a file by its first bytes and, where these do not tell, by its name. */
export function formatOf(look: Uint8Array, source: ByteSource): MeshFormat {
  if (look[0] === 0x1f && look[1] === 0x8b) return 'gzip'; // RFC 1952 §2.3.1
  if (looksLikeStlText(look) || isBinaryStl(look, source.sizeBytes)) return 'stl';
  if (look[0] === 0x50 && look[1] === 0x4b && (look[2] === 3 || look[2] === 5)) return 'zip'; // "PK", entry or empty list
  const text = new TextDecoder('latin1').decode(look).replace(/^\u00ef\u00bb\u00bf/, '');
  if (/^ply\s/.test(text)) return 'ply';
  if (/^glTF/.test(text) || /^\s*\{[\s\S]*"asset"/.test(text)) return 'gltf';
  if (/^\s*ISO-10303-21;/.test(text)) return 'step';
  if (/^[^\r\n]{72}S {0,6}0{0,6}1\s*\r?\n/.test(text)) return 'iges'; // start section, column 73
  if (/^\s*</.test(text) && /<(\w+:)?amf[\s>]/i.test(text)) return 'amf';
  const extension = /\.(\w+)$/.exec(source.name)?.[1]?.toLowerCase() ?? '';
  const byName = BY_EXTENSION.get(extension);
  if (byName !== undefined) return byName;
  // A text whose first statements are those of OBJ.
  return look.indexOf(0) < 0 && /^(\s*(#.*|mtllib .*|[og] .*)?\r?\n)*\s*v\s+[-+.\d]/.test(text) ? 'obj' : 'unknown';
}

function isBinaryStl(look: Uint8Array, sizeBytes: number): boolean {
  if (look.length < 84) return false;
  const count = new DataView(look.buffer, look.byteOffset).getUint32(80, true);
  return count > 0 && sizeBytes === 84 + 50 * count;
}
