import type { Mesh } from '@stonehand/model';
import { NO_OFFSET } from './mesh-file.ts';

/**
 * Several meshes as one, in their order. Vertices of different meshes stay apart even where they coincide, so that
 * closed bodies that touch stay closed. Single precision only when all are; differing offsets are added in.
 */
export function mergeMeshes(meshes: readonly Mesh[]): Mesh {
  const first = meshes[0];
  if (first === undefined)
    return { positions: new Float32Array(0), triangles: new Uint32Array(0), originMm: NO_OFFSET };
  if (meshes.length === 1) return first;
  const sameOffset = meshes.every((mesh) => mesh.originMm.every((o, i) => o === first.originMm[i]));
  const single = sameOffset && meshes.every((mesh) => mesh.positions instanceof Float32Array);
  const numbers = meshes.reduce((sum, mesh) => sum + mesh.positions.length, 0);
  const positions = single ? new Float32Array(numbers) : new Float64Array(numbers);
  const triangles = new Uint32Array(meshes.reduce((sum, mesh) => sum + mesh.triangles.length, 0));
  let atNumber = 0;
  let atCorner = 0;
  for (const mesh of meshes) {
    positions.set(mesh.positions, atNumber);
    if (!sameOffset) addOffset(positions, atNumber, mesh);
    const firstVertex = atNumber / 3;
    for (let k = 0; k < mesh.triangles.length; k++) triangles[atCorner++] = mesh.triangles[k] + firstVertex;
    atNumber += mesh.positions.length;
  }
  return { positions, triangles, originMm: sameOffset ? first.originMm : NO_OFFSET };
}

function addOffset(positions: Float32Array | Float64Array, from: number, mesh: Mesh): void {
  for (let p = 0; p < mesh.positions.length; p++) positions[from + p] += mesh.originMm[p % 3];
}
