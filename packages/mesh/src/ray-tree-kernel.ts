import type { Mesh, Vec3 } from '@stonehand/model';
import { aligned, KERNEL_START, kernelWith, words } from './kernel.ts';
import type { RayTree } from './ray-tree.ts';

/** Triangles or list entries per call: the next call runs the optimised code. */
const BLOCK = 8192;
/** Six doubles, sixteen doubles, sixteen words and 96 singles that the kernel works in. */
const SCRATCH_BYTES = 1024;

/** The tree by the compiled kernel; undefined where there is none, or not enough memory for it. */
export function treeByKernel({ positions, triangles, originMm }: Mesh, middle: Vec3): RayTree | undefined {
  const count = triangles.length / 3;
  if (count === 0) return undefined;
  const most = 2 * count;
  const pointsAt = aligned(KERNEL_START + triangles.byteLength);
  const soupAt = aligned(pointsAt + positions.byteLength);
  const boundsAt = aligned(soupAt + 36 * count);
  const orderAt = aligned(boundsAt + 24 * count);
  const cornersAt = aligned(orderAt + 4 * count);
  const boxesAt = aligned(cornersAt + 36 * count);
  const linkAt = aligned(boxesAt + 24 * most);
  const sizeAt = aligned(linkAt + 4 * most);
  const stackAt = aligned(sizeAt + most);
  const scratchAt = aligned(stackAt + 12 * (count + 2));
  const kernel = kernelWith(scratchAt + SCRATCH_BYTES);
  if (kernel === undefined) return undefined;
  const { buffer } = kernel.memory;
  const single = positions instanceof Float32Array;
  words(kernel, KERNEL_START, triangles.length).set(triangles);
  new (single ? Float32Array : Float64Array)(buffer, pointsAt, positions.length).set(positions);
  const soup = single ? kernel.soupSingle : kernel.soupDouble;
  const [x, y, z] = [0, 1, 2].map((k) => originMm[k] - middle[k]);
  for (let from = 0; from < count; from += BLOCK) {
    const to = Math.min(from + BLOCK, count);
    soup(pointsAt, KERNEL_START, from, to, x, y, z, soupAt);
    kernel.soupBounds(soupAt, from, to, boundsAt, orderAt);
  }
  kernel.startTree(count, stackAt);
  while (kernel.splitSome(boundsAt, orderAt, boxesAt, linkAt, sizeAt, stackAt, scratchAt, BLOCK) !== 0);
  for (let from = 0; from < count; from += BLOCK) {
    kernel.cornersInOrder(soupAt, orderAt, from, Math.min(from + BLOCK, count), cornersAt);
  }
  const nodes = kernel.nodes.value;
  return {
    middle,
    boxes: new Float32Array(buffer, boxesAt, 6 * nodes).slice(),
    link: new Int32Array(buffer, linkAt, nodes).slice(),
    size: new Uint8Array(buffer, sizeAt, nodes).slice(),
    order: new Uint32Array(buffer, orderAt, count).slice(),
    corners: new Float32Array(buffer, cornersAt, 9 * count).slice(),
  };
}
