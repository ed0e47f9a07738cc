import { halfEdgeTwins } from '@stonehand/mesh';
import type { LayerLoops, Mesh } from '@stonehand/model';
import { closeChains } from './close-chains.ts';
import { cutPlanes } from './cut-planes.ts';
import { cutPlanesByKernel, heightRangeByKernel, type LoadedMesh, loadForKernel } from './cut-planes-kernel.ts';

export type SliceOptions = Readonly<{
  /** height of every layer but the first */
  layerMm: number;
  firstLayerMm: number;
  /** ends of chains that are at most this far apart are joined; matters for meshes with cracks only */
  closeGapMm?: number;
  /** whether the compiled kernel cuts, where it can; by default for large meshes. The result is the same to the bit. */
  kernel?: boolean;
}>;

/** Smaller meshes are cut by plain code in less time than it takes to start the kernel; see DECISIONS.md. */
const KERNEL_FROM_TRIANGLES = 1000;

/** Wider than the cracks that exports leave (microns), narrower than half a usual bead. */
const CLOSE_GAP_MM = 0.2;

/**
 * All layers of a mesh that stands on its lowest point, each cut in the middle of its height. A layer is made when the
 * middle of it lies below the top. Heights are those of mesh.positions; originMm is not added.
 */
export function sliceMesh(
  mesh: Mesh,
  { layerMm, firstLayerMm, closeGapMm = CLOSE_GAP_MM, kernel }: SliceOptions,
): LayerLoops {
  const loaded = loadWhere(mesh, kernel);
  const [bottomMm, highMm] = heightRange(mesh, loaded);
  const tops: number[] = [];
  const planes: number[] = [];
  // The slack keeps rounding of a height that is a whole number of layers and a half from deciding.
  const end = highMm - 1e-6 * layerMm;
  for (let i = 0; i === 0 || bottomMm + firstLayerMm + (i - 0.5) * layerMm < end; i++) {
    const top = bottomMm + firstLayerMm + i * layerMm;
    tops.push(top);
    planes.push(top - (i === 0 ? firstLayerMm : layerMm) / 2);
  }
  // A part thinner than half the first layer still gets that layer.
  if (planes[0] >= end) planes[0] = (bottomMm + highMm) / 2;
  return cut(mesh, loaded, Float64Array.from(planes), Float64Array.from(tops), bottomMm, closeGapMm);
}

/**
 * The outlines at any heights, in the order asked for; topMm repeats the heights. Where vertices lie on a plane they count
 * as above it: the section is the limit from below.
 */
export function sectionsAt(
  mesh: Mesh,
  zMm: Float64Array | readonly number[],
  { closeGapMm = CLOSE_GAP_MM, kernel }: Pick<SliceOptions, 'closeGapMm' | 'kernel'> = {},
): LayerLoops {
  const asked = Float64Array.from(zMm);
  const order = Uint32Array.from(asked.keys()).sort((i, j) => asked[i] - asked[j] || i - j);
  const sorted = Float64Array.from(order, (i) => asked[i]);
  const loaded = loadWhere(mesh, kernel);
  const loops = cut(mesh, loaded, sorted, sorted, heightRange(mesh, loaded)[0], closeGapMm);
  return order.every((from, to) => from === to) ? loops : reordered(loops, order, asked);
}

function loadWhere(mesh: Mesh, kernel = mesh.triangles.length >= 3 * KERNEL_FROM_TRIANGLES): LoadedMesh | undefined {
  return kernel ? loadForKernel(mesh) : undefined;
}

function cut(
  mesh: Mesh,
  loaded: LoadedMesh | undefined,
  zMm: Float64Array,
  topMm: Float64Array,
  bottomMm: number,
  closeGapMm: number,
): LayerLoops {
  const pair = halfEdgeTwins(mesh);
  const chains = (loaded && cutPlanesByKernel(loaded, pair, zMm)) ?? cutPlanes(mesh, pair, zMm);
  const { xyMm, loopStart, layerStart, openChains } = closeChains(chains, closeGapMm);
  return { bottomMm, zMm, topMm, layerStart, loopStart, xyMm, openChains };
}

function heightRange(mesh: Mesh, loaded: LoadedMesh | undefined): [number, number] {
  if (loaded !== undefined && mesh.triangles.length > 0) return heightRangeByKernel(loaded);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  const { positions: p, triangles: tri } = mesh;
  for (let h = 0; h < tri.length; h++) {
    const z = p[3 * tri[h] + 2];
    if (z < low) low = z;
    if (z > high) high = z;
  }
  return high >= low ? [low, high] : [0, 0];
}

function reordered(loops: LayerLoops, order: Uint32Array, zMm: Float64Array): LayerLoops {
  const layers = zMm.length;
  const place = new Uint32Array(layers);
  for (let i = 0; i < layers; i++) place[order[i]] = i;
  const layerStart = new Uint32Array(layers + 1);
  const loopStart = new Uint32Array(loops.loopStart.length);
  const xyMm = new Float64Array(loops.xyMm.length);
  let loop = 0;
  for (let i = 0; i < layers; i++) {
    const from = loops.layerStart[place[i]];
    const to = loops.layerStart[place[i] + 1];
    for (let l = from; l < to; l++) {
      xyMm.set(loops.xyMm.subarray(2 * loops.loopStart[l], 2 * loops.loopStart[l + 1]), 2 * loopStart[loop]);
      loopStart[loop + 1] = loopStart[loop] + loops.loopStart[l + 1] - loops.loopStart[l];
      loop++;
    }
    layerStart[i + 1] = loop;
  }
  return { ...loops, zMm, topMm: zMm, layerStart, loopStart, xyMm };
}
