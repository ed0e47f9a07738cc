import { StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, readFully } from './byte-source.ts';
import { type MeshFile, NO_OFFSET } from './mesh-file.ts';
import { notFinite } from './weld.ts';
import { BLOCK_TRIANGLES, Welder32 } from './weld-table.ts';

export const STL_HEAD_BYTES = 84;
export const STL_RECORD_BYTES = 50;

/** Reads `count` records of 50 bytes after the header, a block at a time, straight into the weld. */
export function readStlBinary(source: ByteSource, count: number, onProgress?: (share: number) => void): MeshFile {
  const { name, sizeBytes } = source;
  if (count > MOST_TRIANGLES) {
    throw new StonehandError(
      'MESH_TOO_LARGE',
      `${name}: ${count} triangles are more than the ${MOST_TRIANGLES} that can be held`,
      'Reduce the mesh or split the part.',
    );
  }
  const welder = new Welder32(count);
  const blockBytes = Math.min(count, BLOCK_TRIANGLES) * STL_RECORD_BYTES;
  // The same block twice, the second copied two bytes later: each 50-byte record is 4-byte aligned in one of the two.
  const even = new Uint8Array(blockBytes + 8 - (blockBytes % 4));
  const odd = new Uint8Array(even.length);
  const evenWords = new Uint32Array(even.buffer);
  const oddWords = new Uint32Array(odd.buffer);
  for (let first = 0; first < count; first += BLOCK_TRIANGLES) {
    const n = Math.min(BLOCK_TRIANGLES, count - first);
    const bytes = n * STL_RECORD_BYTES;
    const got = readFully(source, even.subarray(0, bytes), STL_HEAD_BYTES + first * STL_RECORD_BYTES);
    if (got < bytes) {
      throw new StonehandError(
        'MESH_TRUNCATED',
        `${name}: the header promises ${count} triangles, reading ended after ${first + Math.floor(got / STL_RECORD_BYTES)}`,
        'The file changed or shrank while it was read; try again.',
      );
    }
    odd.set(even.subarray(0, bytes), 2);
    const bad = welder.add(evenWords, oddWords, NORMAL_WORDS, STL_RECORD_BYTES / 2, n, first);
    if (bad >= 0) throw notFinite(name, bad);
    onProgress?.((first + n) / count);
  }
  return {
    format: 'STL binary',
    names: [],
    mesh: { positions: welder.positions(), triangles: welder.triangles, originMm: NO_OFFSET },
    notes: extraBytes(sizeBytes - STL_HEAD_BYTES - count * STL_RECORD_BYTES, count),
  };
}

const MOST_TRIANGLES = 2 ** 28; // corner numbers and hash entries stay below 2^30 (13 GB of file)
const NORMAL_WORDS = 3; // the stored normal, skipped

function extraBytes(extra: number, count: number): readonly Finding[] {
  if (extra <= 0) return [];
  return [
    {
      code: 'extraBytes',
      severity: 'note',
      count: extra,
      says: `${extra} bytes follow the ${count} triangles that the header promises; they were not read.`,
      remedy: 'If the part looks incomplete, export it again.',
      spoils: [],
    },
  ];
}
