import type { Box, Mesh, Vec3 } from '@stonehand/model';
import { aligned, KERNEL_BLOCK, KERNEL_START, kernelWith, words } from './kernel.ts';

/** The box, and the sums over the triangles about its centre: far from the origin the products would lose digits. */
export type BoxAndSums = Readonly<{
  boxMm: Box;
  /** 13 sums in the order of mass-properties.ts */
  sums: Float64Array;
}>;

export const SUM_COUNT = 13;

export function middleOf({ min, max }: Box): Vec3 {
  return [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
}

/** The box and the sums by the compiled kernel; undefined where there is none, or not enough memory for it. */
export function boxAndSumsByKernel({ positions, triangles, originMm }: Mesh): BoxAndSums | undefined {
  const length = triangles.length;
  if (length === 0) return undefined;
  const pointsAt = aligned(KERNEL_START + length * 4);
  const usedAt = aligned(pointsAt + positions.byteLength);
  const boxAt = aligned(usedAt + positions.length / 3);
  const sumsAt = boxAt + 6 * 8;
  const kernel = kernelWith(sumsAt + SUM_COUNT * 8);
  if (kernel === undefined) return undefined;
  const single = positions instanceof Float32Array;
  const { buffer } = kernel.memory;
  words(kernel, KERNEL_START, length).set(triangles);
  new (single ? Float32Array : Float64Array)(buffer, pointsAt, positions.length).set(positions);
  new Uint8Array(buffer, usedAt, positions.length / 3).fill(0);
  for (let from = 0; from < length; from += KERNEL_BLOCK) {
    kernel.markUsed(KERNEL_START, from, Math.min(from + KERNEL_BLOCK, length), usedAt);
  }
  const box = new Float64Array(buffer, boxAt, 6);
  box.set([Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity]);
  const vertexCount = positions.length / 3;
  const widen = single ? kernel.boxSingle : kernel.boxDouble;
  for (let from = 0; from < vertexCount; from += KERNEL_BLOCK) {
    widen(pointsAt, usedAt, from, Math.min(from + KERNEL_BLOCK, vertexCount), boxAt);
  }
  const [ox, oy, oz] = originMm;
  const boxMm: Box = {
    min: [box[0] + ox, box[1] + oy, box[2] + oz],
    max: [box[3] + ox, box[4] + oy, box[5] + oz],
  };
  const [mx, my, mz] = middleOf(boxMm);
  const sums = new Float64Array(buffer, sumsAt, SUM_COUNT);
  sums.fill(0);
  sums[SUM_COUNT - 1] = -1;
  const add = single ? kernel.massSingle : kernel.massDouble;
  for (let from = 0; from < length; from += KERNEL_BLOCK) {
    add(pointsAt, KERNEL_START, from, Math.min(from + KERNEL_BLOCK, length), mx - ox, my - oy, mz - oz, sumsAt);
  }
  return { boxMm, sums: sums.slice() };
}
