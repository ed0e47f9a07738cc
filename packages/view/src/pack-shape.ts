import type { Mesh } from '@stonehand/model';
import { deflateSync } from 'fflate';
import { MeshoptSimplifier } from 'meshoptimizer/simplifier';
import { ByteWriter } from './byte-stream.ts';

export type PackOptions = Readonly<{
  /** how far the drawn surface may lie from the true one; 0 keeps every triangle */
  toleranceMm?: number;
  /** no more triangles than this, even if the tolerance is missed */
  mostTriangles?: number;
}>;

/** Half of what a printed outline is true to; invisible at the page's size. */
const TOLERANCE_MM = 0.05;
const MOST_TRIANGLES = 24_000;
/** 16 bits an axis: 6 µm on a piece of 400 mm. */
const STEPS = 65_535;

/**
 * A mesh for the page, small: thinned by edge collapse (meshoptimizer, quadric error after Garland & Heckbert 1997), coordinates in 65,535 steps
 * of the box, vertices in the order of their first use, each coded as the step from the one before, indices as the distance from the newest vertex, then
 * deflate (RFC 1951). About three bytes a triangle.
 */
export async function packShape(
  mesh: Mesh,
  { toleranceMm = TOLERANCE_MM, mostTriangles = MOST_TRIANGLES }: PackOptions = {},
): Promise<Uint8Array> {
  const positions = mesh.positions instanceof Float32Array ? mesh.positions : Float32Array.from(mesh.positions);
  return deflateSync(encode(positions, await thinned(positions, mesh.triangles, toleranceMm, mostTriangles)), {
    level: 9,
  });
}

/** Shapes of a page together: 1.3 MB of about three bytes a triangle. */
const TRIANGLES_A_PAGE = 420_000;
/** Fewer no longer look like the part. */
const LEAST_TRIANGLES = 600;

/** How many triangles a shape may have on a page of so many pieces. */
export function trianglesAPiece(pieces: number): number {
  return Math.min(MOST_TRIANGLES, Math.max(LEAST_TRIANGLES, Math.floor(TRIANGLES_A_PAGE / Math.max(1, pieces))));
}

/** Drawn within the tolerance where that is possible; beyond the limit of triangles with whatever error it takes. */
async function thinned(
  positions: Float32Array,
  triangles: Uint32Array,
  toleranceMm: number,
  mostTriangles: number,
): Promise<Uint32Array> {
  await MeshoptSimplifier.ready;
  const [fine] =
    toleranceMm === 0
      ? [triangles]
      : MeshoptSimplifier.simplify(triangles, positions, 3, 0, toleranceMm, ['ErrorAbsolute']);
  if (fine.length <= 3 * mostTriangles) return fine;
  const [coarse] = MeshoptSimplifier.simplify(fine, positions, 3, 3 * mostTriangles, 1e9, ['ErrorAbsolute']);
  return coarse;
}

function encode(positions: Float32Array, triangles: Uint32Array): Uint8Array {
  const { min, step } = gridOf(positions, triangles);
  const out = new ByteWriter();
  for (let axis = 0; axis < 3; axis++) {
    out.micrometres(min[axis]!);
    // A step in units of 2⁻³² m would be finer than needed; nanometres keep 400 mm within 31 bits.
    out.unsigned(Math.round(step[axis]! * 1e6));
  }
  const newName = new Int32Array(positions.length / 3).fill(-1);
  const order: number[] = [];
  const codes: number[] = [];
  for (const vertex of triangles) {
    if (newName[vertex] === -1) {
      newName[vertex] = order.length;
      order.push(vertex);
      codes.push(0);
    } else codes.push(order.length - newName[vertex]!);
  }
  out.unsigned(order.length);
  out.unsigned(triangles.length);
  for (const code of codes) out.unsigned(code);
  for (let axis = 0; axis < 3; axis++) {
    let before = 0;
    for (const vertex of order) {
      const at = Math.round((positions[3 * vertex + axis]! - min[axis]!) / step[axis]!);
      out.signed(at - before);
      before = at;
    }
  }
  return out.finish();
}

/** The grid as it will be read back: its origin and steps are rounded first, and then used. */
function gridOf(positions: Float32Array, triangles: Uint32Array): { min: number[]; step: number[] } {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (const vertex of triangles) {
    for (let axis = 0; axis < 3; axis++) {
      const x = positions[3 * vertex + axis]!;
      if (x < min[axis]!) min[axis] = x;
      if (x > max[axis]!) max[axis] = x;
    }
  }
  const low = min.map((x) => (Number.isFinite(x) ? Math.floor(x * 1000) / 1000 : 0));
  const step = max.map((x, axis) =>
    Number.isFinite(x) ? Math.max(1e-6, Math.ceil(((x - low[axis]!) / STEPS) * 1e6) / 1e6) : 1,
  );
  return { min: low, step };
}
