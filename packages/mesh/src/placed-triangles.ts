import { determinant, StonehandError } from '@stonehand/base';
import type { Placement } from '@stonehand/model';
import type { TriangleSink } from './triangle-sink.ts';

/** Adds triangles where a placement puts them; a mirroring one turns them, so that the volume keeps its sign. */
export function addPlaced(sink: TriangleSink, points: Float64Array, triangles: Uint32Array, m: Placement): void {
  const placed = new Float64Array(points.length);
  for (let p = 0; p < points.length; p += 3) {
    const x = points[p];
    const y = points[p + 1];
    const z = points[p + 2];
    placed[p] = m[0] * x + m[1] * y + m[2] * z + m[3];
    placed[p + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
    placed[p + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
  }
  const mirrored = determinant(m) < 0;
  for (let h = 0; h < triangles.length; h += 3) {
    if (mirrored) sink.add(placed, triangles[h], triangles[h + 2], triangles[h + 1]);
    else sink.add(placed, triangles[h], triangles[h + 1], triangles[h + 2]);
  }
}

/**
 * Refuses files whose shared parts multiply beyond all bounds, before anything is placed.
 * @param placed triangles of all instances; @param held triangles that the file itself holds
 * @throws StonehandError MESH_TOO_LARGE
 */
export function checkMultiplied(file: string, placed: number, held: number): void {
  const most = Math.min(MOST_TRIANGLES, Math.max(MOST_MULTIPLIED, 4 * held));
  if (placed <= most) return;
  throw new StonehandError(
    'MESH_TOO_LARGE',
    `${file}: its parts multiply to more than ${most} triangles`,
    'Export the parts one by one.',
  );
}

/** A placed instance takes about as much memory as so many triangles, even when it has none. */
export const INSTANCE_COST = 16;

const MOST_TRIANGLES = 2 ** 27;
const MOST_MULTIPLIED = 2 ** 24; // half a gigabyte of vertices and corners
