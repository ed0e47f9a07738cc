import { StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, readFully } from './byte-source.ts';
import { type MeshFile, NO_OFFSET } from './mesh-file.ts';
import { notFinite } from './weld.ts';
import { recordWelder } from './weld-records.ts';
import { BLOCK_TRIANGLES } from './weld-table.ts';

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
  const welder = recordWelder(count, STL_RECORD_BYTES, STL_NORMAL_BYTES);
  for (let first = 0; first < count; first += BLOCK_TRIANGLES) {
    const n = Math.min(BLOCK_TRIANGLES, count - first);
    const block = welder.block(n);
    const got = readFully(source, block, STL_HEAD_BYTES + first * STL_RECORD_BYTES);
    if (got < block.length) {
      throw new StonehandError(
        'MESH_TRUNCATED',
        `${name}: the header promises ${count} triangles, reading ended after ${first + Math.floor(got / STL_RECORD_BYTES)}`,
        'The file changed or shrank while it was read; try again.',
      );
    }
    const bad = welder.add(n, first);
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
const STL_NORMAL_BYTES = 12; // the stored normal, skipped

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
