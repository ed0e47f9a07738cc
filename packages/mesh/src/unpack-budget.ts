import { StonehandError } from '@stonehand/base';
import type { ByteSource } from './byte-source.ts';

/** What a compressed file may still unpack to, over all of its entries and all levels of nesting. */
export interface UnpackBudget {
  /** @throws StonehandError MESH_TOO_LARGE when more bytes came out than a real mesh file gives */
  spend(bytes: number): void;
}

/** One budget for a file as it lies on the disk; archives inside it spend from the same one. */
export function unpackBudget({ name, sizeBytes }: ByteSource): UnpackBudget {
  const byRatio = Math.max(FREE_BYTES, MOST_RATIO * sizeBytes);
  let spent = 0;
  return {
    spend(bytes) {
      spent += bytes;
      if (spent > MOST_BYTES) throw tooLarge(name, `more than ${MOST_BYTES / 2 ** 30} GiB when unpacked`);
      if (spent > byRatio) throw tooLarge(name, `more than ${MOST_RATIO} times its size when unpacked`);
    },
  };
}

function tooLarge(name: string, what: string): StonehandError {
  return new StonehandError(
    'MESH_TOO_LARGE',
    `${name}: ${what}; reading stopped`,
    'If the file is honest, unpack it yourself and give the mesh.',
  );
}

const MOST_BYTES = 2 ** 32;
// Deflate ends at 1032 : 1. Of the reference files the most repetitive packs 24 : 1 (text STL), a flat grid of 180 000 triangles
// as text STL 25 : 1: eight times that is no mesh.
const MOST_RATIO = 200;
const FREE_BYTES = 2 ** 24;
