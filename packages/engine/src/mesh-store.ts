import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';

/**
 * Meshes that no file holds (cut pieces), kept in the cache folder by content: four uint32 (magic, kind of numbers,
 * vertices, triangles), three float64 (origin), then positions and triangles as they are in memory.
 */
const MAGIC = 0x4d534831;
const HEADER_BYTES = 40;

function storedMeshFile(folder: string, hash: string): string {
  return join(folder, 'meshes', `${hash}.mesh`);
}

export function storeMesh(folder: string, hash: string, mesh: Mesh): void {
  const file = storedMeshFile(folder, hash);
  if (existsSync(file)) return;
  mkdirSync(join(folder, 'meshes'), { recursive: true });
  const { positions, triangles } = mesh;
  const bytes = new Uint8Array(HEADER_BYTES + positions.byteLength + triangles.byteLength);
  new Uint32Array(bytes.buffer, 0, 4).set([
    MAGIC,
    positions instanceof Float64Array ? 8 : 4,
    positions.length / 3,
    triangles.length / 3,
  ]);
  new Float64Array(bytes.buffer, 16, 3).set(mesh.originMm);
  bytes.set(new Uint8Array(positions.buffer, positions.byteOffset, positions.byteLength), HEADER_BYTES);
  bytes.set(
    new Uint8Array(triangles.buffer, triangles.byteOffset, triangles.byteLength),
    HEADER_BYTES + positions.byteLength,
  );
  const beside = `${file}.${process.pid}.part`;
  writeFileSync(beside, bytes);
  renameSync(beside, file);
}

/** @throws StonehandError INTERNAL when the cache has lost the piece */
export function loadStoredMesh(folder: string, hash: string): Mesh {
  const file = storedMeshFile(folder, hash);
  let buffer: Buffer;
  try {
    buffer = readFileSync(file);
  } catch (cause) {
    throw new StonehandError(
      'INTERNAL',
      `the cut piece ${hash} is missing from the cache`,
      'Run the command again with --fresh.',
      { cause },
    );
  }
  // A fresh, aligned copy: a Buffer from the pool may start anywhere.
  const bytes = new Uint8Array(buffer.length);
  bytes.set(buffer);
  const [magic, width, vertices, triangles] = new Uint32Array(bytes.buffer, 0, 4) as unknown as [
    number,
    number,
    number,
    number,
  ];
  const expected = HEADER_BYTES + 3 * vertices * width + 12 * triangles;
  if (magic !== MAGIC || bytes.length !== expected) {
    throw new StonehandError(
      'INTERNAL',
      `the cut piece ${hash} is damaged in the cache`,
      'Run the command again with --fresh.',
    );
  }
  const origin = new Float64Array(bytes.buffer, 16, 3);
  const positions =
    width === 8
      ? new Float64Array(bytes.buffer, HEADER_BYTES, 3 * vertices)
      : new Float32Array(bytes.buffer, HEADER_BYTES, 3 * vertices);
  return {
    positions,
    triangles: new Uint32Array(bytes.buffer, HEADER_BYTES + 3 * vertices * width, 3 * triangles),
    originMm: [origin[0]!, origin[1]!, origin[2]!],
  };
}
