import { StonehandError } from '@stonehand/base';
import { type ByteSource, bytesSource, readAll, readFully } from './byte-source.ts';
import type { MeshFile } from './mesh-file.ts';
import { emptyFile, looksLikeStlText, readStl } from './read-stl.ts';

export type ReadMeshOptions = Readonly<{
  /** share of the file that is done, 0 to 1; not every format can tell */
  onProgress?: (share: number) => void;
}>;

/**
 * Reads a mesh file of any known format, picked by its content and only then by its name: STL, OBJ, PLY,
 * glTF, 3MF and gzip of any of them. Libraries are loaded on first use.
 * @throws StonehandError FORMAT_UNKNOWN, or what the format's reader throws
 */
export async function readMesh(source: ByteSource, options: ReadMeshOptions = {}): Promise<MeshFile> {
  if (source.sizeBytes === 0) throw emptyFile(source.name);
  const start = new Uint8Array(Math.min(source.sizeBytes, LOOK_BYTES));
  const look = start.subarray(0, readFully(source, start, 0));
  const format = formatOf(look, source);
  switch (format) {
    case 'gzip':
      return readMesh(await unpacked(source), options);
    case 'stl':
      return readStl(source, options.onProgress);
    case 'obj':
      return (await import('./read-obj.ts')).readObj(source, options.onProgress);
    case '3mf':
      return (await import('./read-3mf.ts')).read3mf(source);
    case 'gltf':
      return (await import('./read-gltf.ts')).readGltf(source);
    case 'ply':
      return (await import('./read-ply.ts')).readPly(source, options.onProgress);
    default:
      throw new StonehandError(
        'FORMAT_UNKNOWN',
        `${source.name}: neither its content nor its name is of a mesh format that is read here`,
        'Export it as STL.',
      );
  }
}

const LOOK_BYTES = 4096;
type Format = 'gzip' | 'stl' | 'obj' | 'ply' | 'gltf' | '3mf' | 'unknown';

function formatOf(look: Uint8Array, source: ByteSource): Format {
  if (look[0] === 0x1f && look[1] === 0x8b) return 'gzip'; // RFC 1952 §2.3.1
  if (looksLikeStlText(look) || isBinaryStl(look, source.sizeBytes)) return 'stl';
  if (look[0] === 0x50 && look[1] === 0x4b && look[2] === 3 && look[3] === 4) return '3mf'; // a ZIP archive
  const text = new TextDecoder('latin1').decode(look);
  if (/^ply\s/.test(text)) return 'ply';
  if (/^glTF/.test(text) || /^\s*\{[\s\S]*"asset"/.test(text)) return 'gltf';
  const extension = /\.(\w+)$/.exec(source.name)?.[1]?.toLowerCase();
  if (extension === '3mf') return '3mf';
  if (extension === 'glb' || extension === 'gltf') return 'gltf';
  if (extension === 'stl' || extension === 'obj' || extension === 'ply') return extension;
  // A text whose first statements are those of OBJ.
  return look.indexOf(0) < 0 && /^(\s*(#.*|mtllib .*|[og] .*)?\r?\n)*\s*v\s+[-+.\d]/.test(text) ? 'obj' : 'unknown';
}

function isBinaryStl(look: Uint8Array, sizeBytes: number): boolean {
  if (look.length < 84) return false;
  const count = new DataView(look.buffer, look.byteOffset).getUint32(80, true);
  return count > 0 && sizeBytes === 84 + 50 * count;
}

async function unpacked(source: ByteSource): Promise<ByteSource> {
  const { gunzipSync } = await import('node:zlib');
  const name = source.name.replace(/\.gz$/i, '');
  try {
    return bytesSource(name, gunzipSync(readAll(source), { maxOutputLength: MOST_UNPACKED_BYTES }));
  } catch (cause) {
    if (cause instanceof StonehandError) throw cause;
    throw new StonehandError(
      'MESH_MALFORMED',
      `${source.name}: the gzip data is damaged, cut off or larger than 2 GiB when unpacked`,
      'Copy or export the file again.',
      { cause },
    );
  }
}

const MOST_UNPACKED_BYTES = 2 ** 31 - 1;
