import { hashBytes } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';

/**
 * Names a welded mesh by its bytes as they are: precision, coordinates, triangles and their order, offset. The same shape
 * in another order or place has another hash (package inspect compares shapes).
 * @returns 32 hex digits
 */
export function meshHash(mesh: Mesh): string {
  const { positions, triangles, originMm } = mesh;
  const kind = positions instanceof Float32Array ? 'single' : 'double';
  // The lengths in front keep the two arrays from running into each other.
  const head = `mesh ${kind} ${positions.length} ${triangles.length} ${originMm.join(' ')}\n`;
  return hashBytes(head, bytesOf(positions), bytesOf(triangles));
}

function bytesOf(array: Float32Array | Float64Array | Uint32Array): Uint8Array {
  return new Uint8Array(array.buffer, array.byteOffset, array.byteLength);
}
