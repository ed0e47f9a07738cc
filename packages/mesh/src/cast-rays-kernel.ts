import type { RayHits } from './cast-rays.ts';
import { aligned, KERNEL_START, kernelWith } from './kernel.ts';
import type { RayTree } from './ray-tree.ts';

/** Rays per call: the next call runs the optimised code. */
const BLOCK = 2048;
const STACK_BYTES = 16 * 512;
const NONE = 0xffffffff;

/** The hits by the compiled kernel; undefined where there is none, or not enough memory for it. */
export function castByKernel(
  tree: RayTree,
  rays: Float32Array | Float64Array,
  within: number,
  from: Uint32Array | undefined,
): RayHits | undefined {
  const { boxes, link, size, order, corners, middle } = tree;
  if (order.length === 0) return undefined;
  const count = rays.length / 6;
  const pairs = link.length >> 1;
  const linkAt = aligned(KERNEL_START + STACK_BYTES);
  const sizeAt = aligned(linkAt + link.byteLength);
  const orderAt = aligned(sizeAt + size.byteLength);
  const cornersAt = aligned(orderAt + order.byteLength);
  const boxesAt = aligned(cornersAt + corners.byteLength);
  const pairsAt = aligned(boxesAt + boxes.byteLength);
  const raysAt = aligned(pairsAt + 48 * pairs);
  const unseenAt = aligned(raysAt + 48 * BLOCK);
  const distanceAt = aligned(unseenAt + 4 * BLOCK);
  const triangleAt = aligned(distanceAt + 4 * BLOCK);
  const kernel = kernelWith(triangleAt + 4 * BLOCK);
  if (kernel === undefined) return undefined;
  const { buffer } = kernel.memory;
  new Int32Array(buffer, linkAt, link.length).set(link);
  new Uint8Array(buffer, sizeAt, size.length).set(size);
  new Uint32Array(buffer, orderAt, order.length).set(order);
  new Float32Array(buffer, cornersAt, corners.length).set(corners);
  new Float32Array(buffer, boxesAt, boxes.length).set(boxes);
  for (let pair = 0; pair < pairs; pair += BLOCK) {
    kernel.pairBoxes(boxesAt, pair, Math.min(pair + BLOCK, pairs), pairsAt);
  }
  const distance = new Float32Array(count);
  const triangle = new Int32Array(count);
  const unseen = new Uint32Array(buffer, unseenAt, BLOCK).fill(NONE);
  const given = new Float64Array(buffer, raysAt, 6 * BLOCK);
  const [mx, my, mz] = middle;
  for (let r = 0; r < count; r += BLOCK) {
    const n = Math.min(BLOCK, count - r);
    given.set(rays.subarray(6 * r, 6 * (r + n)));
    if (from !== undefined) unseen.set(from.subarray(r, r + n));
    kernel.castSome(
      pairsAt,
      linkAt,
      sizeAt,
      orderAt,
      cornersAt,
      raysAt,
      n,
      mx,
      my,
      mz,
      within,
      unseenAt,
      distanceAt,
      triangleAt,
      KERNEL_START,
    );
    distance.set(new Float32Array(buffer, distanceAt, n), r);
    triangle.set(new Int32Array(buffer, triangleAt, n), r);
  }
  return { distance, triangle };
}
