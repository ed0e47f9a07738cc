import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import type { KernelOption } from './kernel.ts';
import { NO_OFFSET } from './mesh-file.ts';
import { recordWelder } from './weld-records.ts';
import { BLOCK_TRIANGLES, Welder64 } from './weld-table.ts';

/**
 * Exact weld of a triangle soup: corners with the same coordinates, bit for bit, become one vertex (−0 equals +0).
 * Vertices are numbered in the order in which they first appear; the triangles keep their order.
 * @param soup nine numbers per triangle; its precision is kept
 * @param name what is being welded, for messages
 * @param options kernel: single precision only
 * @throws StonehandError MESH_NOT_FINITE naming the triangle, MESH_MALFORMED when the length is not a multiple of 9
 */
export function weld(soup: Float32Array | Float64Array, name = 'the mesh', options: KernelOption = {}): Mesh {
  if (soup.length % 9 !== 0) {
    throw new StonehandError(
      'MESH_MALFORMED',
      `${name}: ${soup.length} numbers are not whole triangles of nine`,
      'Give nine numbers per triangle.',
    );
  }
  return soup instanceof Float32Array ? weld32(soup, name, options) : weld64(soup, name);
}

function weld32(soup: Float32Array, name: string, options: KernelOption): Mesh {
  const count = soup.length / 9;
  const welder = recordWelder(count, 36, 0, options);
  const bytes = new Uint8Array(soup.buffer, soup.byteOffset, soup.byteLength);
  for (let first = 0; first < count; first += BLOCK_TRIANGLES) {
    const n = Math.min(BLOCK_TRIANGLES, count - first);
    welder.block(n).set(bytes.subarray(first * 36, (first + n) * 36));
    const bad = welder.add(n, first);
    if (bad >= 0) throw notFinite(name, bad);
  }
  return { positions: welder.positions(), triangles: welder.triangles, originMm: NO_OFFSET };
}

function weld64(soup: Float64Array, name: string): Mesh {
  const count = soup.length / 9;
  const welder = new Welder64(count);
  const block = new Float64Array(BLOCK_TRIANGLES * 9); // a copy, because the welder rewrites −0
  for (let first = 0; first < count; first += BLOCK_TRIANGLES) {
    const n = Math.min(BLOCK_TRIANGLES, count - first);
    block.set(soup.subarray(first * 9, (first + n) * 9));
    const bad = welder.add(block, n);
    if (bad >= 0) throw notFinite(name, bad);
  }
  return { positions: welder.positions(), triangles: welder.triangles(), originMm: NO_OFFSET };
}

/** The error for a triangle (counted from 0) with a coordinate that is NaN or infinite. */
export function notFinite(name: string, triangle: number): StonehandError {
  return new StonehandError(
    'MESH_NOT_FINITE',
    `${name}: triangle ${triangle + 1} has a coordinate that is not a finite number`,
    'Export the file again; the program that wrote it divided by zero somewhere.',
  );
}
