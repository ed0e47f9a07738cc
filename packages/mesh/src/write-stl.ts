import type { Mesh } from '@stonehand/model';
import { STL_HEAD_BYTES, STL_RECORD_BYTES } from './read-stl-binary.ts';

/**
 * Binary STL, offset added, normals computed (0 for a triangle without area), attribute bytes 0.
 * Double-precision coordinates are rounded to single, the only precision the format has.
 * @param name goes into the 80-byte header as ASCII, cut to fit
 */
export function writeStl(mesh: Mesh, name: string): Uint8Array {
  const { positions, triangles, originMm } = mesh;
  const count = triangles.length / 3;
  const bytes = new Uint8Array(STL_HEAD_BYTES + STL_RECORD_BYTES * count);
  bytes.set(header(name));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  const corner = new Float32Array(9);
  for (let t = 0, at = STL_HEAD_BYTES; t < count; t++, at += STL_RECORD_BYTES) {
    for (let k = 0; k < 3; k++) {
      const p = triangles[3 * t + k] * 3;
      for (let i = 0; i < 3; i++) corner[3 * k + i] = positions[p + i] + originMm[i];
    }
    writeNormal(view, at, corner);
    for (let i = 0; i < 9; i++) view.setFloat32(at + 12 + 4 * i, corner[i], true);
  }
  return bytes;
}

function header(name: string): Uint8Array {
  // A header that begins with "solid" would make other readers take the file for text.
  const safe = name.replace(/[^\x20-\x7e]/g, '?').replace(/^(?=\s*solid)/i, 'binary: ');
  return new TextEncoder().encode(safe).subarray(0, 80);
}

function writeNormal(view: DataView, at: number, c: Float32Array): void {
  const ux = c[3] - c[0];
  const uy = c[4] - c[1];
  const uz = c[5] - c[2];
  const vx = c[6] - c[0];
  const vy = c[7] - c[1];
  const vz = c[8] - c[2];
  const nx = uy * vz - uz * vy;
  const ny = uz * vx - ux * vz;
  const nz = ux * vy - uy * vx;
  const length = Math.hypot(nx, ny, nz);
  const scale = length > 0 ? 1 / length : 0;
  view.setFloat32(at, nx * scale, true);
  view.setFloat32(at + 4, ny * scale, true);
  view.setFloat32(at + 8, nz * scale, true);
}
