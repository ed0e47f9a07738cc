import type { Mesh, Ring } from '@stonehand/model';
import earcut from 'earcut';
import { insideRings, ringArea } from './outline.ts';

/** An area from one height to another: outer rings counter-clockwise, holes clockwise. */
export type Slab = Readonly<{ rings: readonly Ring[]; fromMm: number; toMm: number }>;

/**
 * Closed upright prisms over areas, each with corners of its own: every edge has its two triangles, whatever lies on top of it.
 * Volume is the sum of area times height.
 */
export function prismsMesh(slabs: readonly Slab[]): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const { rings, fromMm, toMm } of slabs) {
    for (const face of facesOf(rings)) addPrism(face, fromMm, toMm, positions, triangles);
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

/** One outer ring, then the holes in it. */
function facesOf(rings: readonly Ring[]): (readonly Ring[])[] {
  const outers = rings.filter((ring) => ring.length >= 3 && ringArea(ring) > 0);
  const faces = outers.map((outer) => [outer]);
  for (const hole of rings) {
    if (hole.length < 3 || !(ringArea(hole) < 0)) continue;
    const [x, y] = hole[0]!;
    const around = faces
      .filter(([outer]) => insideRings([outer!], x, y))
      .sort((a, b) => ringArea(a[0]!) - ringArea(b[0]!))[0];
    around?.push(hole);
  }
  return faces;
}

function addPrism(face: readonly Ring[], fromMm: number, toMm: number, positions: number[], triangles: number[]): void {
  const flat: number[] = [];
  const starts: number[] = [];
  for (const ring of face) {
    starts.push(flat.length / 2);
    for (const [x, y] of ring) flat.push(x, y);
  }
  const cap = earcut(flat, starts.slice(1));
  // A sliver that cannot be capped would leave an open prism; nothing can be printed there either.
  if (cap.length / 3 !== flat.length / 2 - 2 + 2 * (starts.length - 1)) return;
  const n = flat.length / 2;
  const low = positions.length / 3;
  const high = low + n;
  for (const z of [fromMm, toMm]) for (let i = 0; i < n; i++) positions.push(flat[2 * i]!, flat[2 * i + 1]!, z);
  for (let k = 0; k < cap.length; k += 3) {
    const [a, b, c] = orderOf(flat, cap[k]!, cap[k + 1]!, cap[k + 2]!);
    triangles.push(high + a, high + b, high + c, low + a, low + c, low + b);
  }
  face.forEach((ring, r) => {
    const from = starts[r]!;
    for (let i = 0; i < ring.length; i++) {
      const a = from + i;
      const b = from + ((i + 1) % ring.length);
      triangles.push(low + a, low + b, high + b, low + a, high + b, high + a);
    }
  });
}

function orderOf(flat: readonly number[], a: number, b: number, c: number): readonly [number, number, number] {
  const twice =
    (flat[2 * b]! - flat[2 * a]!) * (flat[2 * c + 1]! - flat[2 * a + 1]!) -
    (flat[2 * c]! - flat[2 * a]!) * (flat[2 * b + 1]! - flat[2 * a + 1]!);
  return twice >= 0 ? [a, b, c] : [a, c, b];
}
