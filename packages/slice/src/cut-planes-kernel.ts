import type { Mesh } from '@stonehand/model';
import { type Chains, planeBins } from './cut-planes.ts';
import { KERNEL_START, type Kernel, kernelWith } from './kernel.ts';

/** Triangles or vertices per call: a call in compiled-at-once code ends soon, and the next runs the optimised code. */
const BLOCK = 16384;

/** A mesh in the kernel's memory. */
export type LoadedMesh = Readonly<{ mesh: Mesh; kernel: Kernel; pointsAt: number; end: number }>;

/** @returns undefined where there is no kernel or memory */
export function loadForKernel(mesh: Mesh): LoadedMesh | undefined {
  const { positions, triangles } = mesh;
  const pointsAt = aligned(KERNEL_START + 16 + triangles.byteLength);
  const end = aligned(pointsAt + positions.byteLength);
  const kernel = kernelWith(end);
  if (kernel === undefined) return undefined;
  const { buffer } = kernel.memory;
  new Uint32Array(buffer, KERNEL_START + 16, triangles.length).set(triangles);
  const Points = positions instanceof Float32Array ? Float32Array : Float64Array;
  new Points(buffer, pointsAt, positions.length).set(positions);
  return { mesh, kernel, pointsAt, end };
}

/** Lowest and highest z of all corners. */
export function heightRangeByKernel({ mesh, kernel, pointsAt }: LoadedMesh): [number, number] {
  const { positions, triangles } = mesh;
  const range = new Float64Array(kernel.memory.buffer, KERNEL_START, 2);
  range.set([Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]);
  const widen = positions instanceof Float32Array ? kernel.rangeSingle : kernel.rangeDouble;
  for (let h = 0; h < triangles.length; h += BLOCK)
    widen(pointsAt, TRIANGLES_AT, h, Math.min(h + BLOCK, triangles.length), KERNEL_START);
  return [range[0], range[1]];
}

const TRIANGLES_AT = KERNEL_START + 16;

/**
 * cutPlanes by the compiled kernel, for meshes without a boundary. The kernel goes triangle by triangle instead of plane by plane; loops come
 * out in the same order because in both each begins at its first triangle.
 * @returns undefined where there is no memory or the mesh has a boundary
 */
export function cutPlanesByKernel(loaded: LoadedMesh, pair: Int32Array, planesMm: Float64Array): Chains | undefined {
  const { mesh, kernel: first, pointsAt, end } = loaded;
  const { positions, triangles } = mesh;
  const planes = planesMm.length;
  const triangleCount = triangles.length / 3;
  const vertices = positions.length / 3;
  const { binsPerMm, bins, guess } = planeBins(planesMm);
  const single = positions instanceof Float32Array;
  const twinsAt = end;
  const startsAt = aligned(twinsAt + 4 * triangles.length);
  const planesAt = aligned(startsAt + 8 * (triangleCount + 1));
  const guessAt = aligned(planesAt + 8 * planes);
  const changeAt = aligned(guessAt + 4 * guess.length);
  const nextAt = aligned(changeAt + 4 * (planes + 1));
  const endsAt = aligned(nextAt + 4 * (planes + 1));
  const levelsAt = aligned(endsAt + 4 * (planes + 1));
  const seenAt = aligned(levelsAt + 4 * vertices);
  if (kernelWith(seenAt) !== first) return undefined;
  const { buffer } = first.memory;
  new Int32Array(buffer, twinsAt, triangles.length).set(pair);
  new Float64Array(buffer, planesAt, planes).set(planesMm);
  new Int32Array(buffer, guessAt, guess.length).set(guess);
  const change = new Int32Array(buffer, changeAt, planes + 1).fill(0);
  const findLevels = single ? first.levelsSingle : first.levelsDouble;
  for (let v = 0; v < vertices; v += BLOCK) {
    const to = Math.min(v + BLOCK, vertices);
    findLevels(pointsAt, v, to, planesAt, planes, guessAt, bins, binsPerMm, levelsAt);
  }
  let segments = 0;
  for (let t = 0; t < triangleCount; t += BLOCK) {
    const to = Math.min(t + BLOCK, triangleCount);
    segments = first.spans(TRIANGLES_AT, twinsAt, t, to, levelsAt, startsAt, changeAt, segments);
    if (segments < 0) return undefined;
  }
  const counts = segmentsByPlane(change);
  const xyAt = aligned(seenAt + segments);
  const chainsAt = xyAt + 16 * segments;
  if (kernelWith(chainsAt + 8 * segments + 8) !== first) return undefined;
  const memory = first.memory.buffer;
  new Uint8Array(memory, seenAt, segments).fill(0);
  const next = new Uint32Array(memory, nextAt, planes + 1);
  const ends = new Uint32Array(memory, endsAt, planes + 1);
  for (let k = 0; k < planes; k++) {
    next[k] = xyAt + 16 * counts[k];
    ends[k] = xyAt + 16 * counts[k + 1];
  }
  const walk = single ? first.walkSingle : first.walkDouble;
  let chain = chainsAt;
  for (let t = 0; t < triangleCount; t += BLOCK) {
    const to = Math.min(t + BLOCK, triangleCount);
    chain = walk(pointsAt, TRIANGLES_AT, twinsAt, t, to, planesAt, startsAt, seenAt, nextAt, endsAt, chain);
    if (chain === 0) return undefined;
  }
  const found = new Uint32Array(memory, chainsAt, (chain - chainsAt) / 4);
  return {
    xyMm: new Float64Array(memory, xyAt, 2 * segments).slice(),
    ...chainsByPlane(found, planes, xyAt, segments),
    open: new Uint8Array(found.length / 2),
    openCount: 0,
  };
}

/** From the changes at each plane to the number of segments before it. */
function segmentsByPlane(change: Int32Array): Uint32Array {
  const before = new Uint32Array(change.length);
  let crossing = 0;
  for (let k = 0; k + 1 < change.length; k++) {
    crossing += change[k];
    before[k + 1] = before[k] + crossing;
  }
  return before;
}

/** Loops as found (plane, address of the first point) sorted by plane; within a plane they come in order. */
function chainsByPlane(
  found: Uint32Array,
  planes: number,
  xyAt: number,
  segments: number,
): Pick<Chains, 'chainStart' | 'planeStart'> {
  const planeStart = new Uint32Array(planes + 1);
  for (let i = 0; i < found.length; i += 2) planeStart[found[i] + 1]++;
  for (let k = 0; k < planes; k++) planeStart[k + 1] += planeStart[k];
  const chainStart = new Uint32Array(found.length / 2 + 1);
  const at = planeStart.slice();
  for (let i = 0; i < found.length; i += 2) chainStart[at[found[i]]++] = (found[i + 1] - xyAt) / 16;
  chainStart[found.length / 2] = segments;
  return { chainStart, planeStart };
}

const aligned = (at: number): number => Math.ceil(at / 16) * 16;
