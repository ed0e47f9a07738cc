import { StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, readFully } from './byte-source.ts';
import { pairEdges } from './half-edges.ts';
import type { MeshFile } from './mesh-file.ts';
import { readStlBinary, STL_HEAD_BYTES, STL_RECORD_BYTES } from './read-stl-binary.ts';
import { readStlText } from './read-stl-text.ts';

/**
 * Reads an STL file, binary or text, in blocks, and welds it exactly. Binary is decided by size = 84 + 50·n first, then
 * by text, because many binary files begin with `solid`. Stored normals and attribute bytes are ignored. Where the count and
 * the length disagree, whole records are read with a doubt if they close the surface or the count is 0, else refused.
 * No published standard exists; the layout is common practice.
 * @returns positions in the file's numbers, single precision for binary and double for text
 * @throws StonehandError MESH_EMPTY, MESH_TRUNCATED with both counts, MESH_MALFORMED with the line, MESH_NOT_FINITE with the triangle
 */
export function readStl(source: ByteSource, onProgress?: (share: number) => void): MeshFile {
  const { name, sizeBytes } = source;
  if (sizeBytes === 0) throw emptyFile(name);
  const start = new Uint8Array(Math.min(sizeBytes, LOOK_BYTES));
  const got = readFully(source, start, 0);
  const count = got >= STL_HEAD_BYTES ? new DataView(start.buffer).getUint32(80, true) : 0;
  const wholeBytes = STL_HEAD_BYTES + STL_RECORD_BYTES * count;
  if (got >= STL_HEAD_BYTES && sizeBytes === wholeBytes && count > 0) return readStlBinary(source, count, onProgress);
  if (looksLikeStlText(start.subarray(0, got))) return readStlText(source, onProgress);
  if (got < STL_HEAD_BYTES) {
    throw new StonehandError(
      'MESH_TRUNCATED',
      `${name}: ${sizeBytes} bytes are less than the ${STL_HEAD_BYTES} of an STL header`,
      'Export the file again; this copy is cut off or no STL.',
    );
  }
  if (/\bfacet\s+normal\b/i.test(new TextDecoder('latin1').decode(start.subarray(STL_HEAD_BYTES, got)))) {
    throw new StonehandError(
      'MESH_MALFORMED',
      `${name}: a binary STL header is followed by the text form`,
      'Export the file again, as binary STL.',
    );
  }
  const held = Math.floor((sizeBytes - STL_HEAD_BYTES) / STL_RECORD_BYTES);
  if (held > 0 && sizeBytes === STL_HEAD_BYTES + STL_RECORD_BYTES * held && isMiscount(count, held)) {
    const file = readStlBinary(source, held, onProgress);
    // Whole records that close the surface show that the count is wrong; an open one was more likely cut off.
    if (count === 0 || pairEdges(file.mesh).boundaryEdges === 0) return { ...file, notes: [wrongCount(count, held)] };
  }
  if (sizeBytes < wholeBytes) {
    throw new StonehandError(
      'MESH_TRUNCATED',
      `${name}: the header promises ${count} triangles, the file ends after ${held}`,
      'Export the file again; this copy is cut off, or its header is wrong.',
    );
  }
  if (count === 0) throw emptyFile(name);
  return readStlBinary(source, count, onProgress);
}

// A count that is wrong by more than this is no slip of a writer: the header, and perhaps more of the file, is damaged.
const MOST_MISCOUNT = 100;

function isMiscount(count: number, held: number): boolean {
  return count === 0 || (count > held && count <= MOST_MISCOUNT * held);
}

const LOOK_BYTES = 4096;

function wrongCount(count: number, held: number): Finding {
  return {
    code: 'wrongCount',
    severity: 'doubt',
    count: held,
    says: `The header promises ${count} triangles; ${held} follow, and all of them were read.`,
    remedy: 'If the part looks incomplete, export it again.',
    spoils: [],
  };
}

/** Text that starts with `solid` and goes on with a keyword of the text form; a zero byte rules it out. */
export function looksLikeStlText(start: Uint8Array): boolean {
  if (start.indexOf(0) >= 0) return false;
  const text = new TextDecoder('latin1').decode(start).replace(/^\u00ef\u00bb\u00bf/, '');
  return /^\s*solid\b/i.test(text) && (/\bfacet\b|\bend\s*solid\b/i.test(text) || text.length >= LOOK_BYTES);
}

export function emptyFile(name: string): StonehandError {
  return new StonehandError('MESH_EMPTY', `${name}: the file holds no triangle`, 'Export the part again.');
}
