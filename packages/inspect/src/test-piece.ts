import { StonehandError } from '@stonehand/base';
import { massProperties } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { cutMesh } from '@stonehand/split';
import type { Bore } from './find-bores.ts';

/** Wall left around a bore, and material beyond its ends: common practice, no source. */
const AROUND_MM = 5;
const BEYOND_MM = 2;

/**
 * The neighbourhood of a bore or boss, cut out of its part by six planes: printed first, at the real recipe, to prove a fit. The bore's own surface is untouched,
 * vertex by vertex; the piece stays in the part's coordinates.
 * @throws StonehandError MESH_OPEN, GEOMETRY_FAILED
 */
export function testPiece(
  mesh: Mesh,
  feature: Pick<Bore, 'atMm' | 'axis' | 'cornersMm' | 'depthMm'>,
  { aroundMm = AROUND_MM, beyondMm = BEYOND_MM }: Readonly<{ aroundMm?: number; beyondMm?: number }> = {},
): Mesh {
  const { atMm, axis, cornersMm, depthMm } = feature;
  const [u, v] = sideways(axis);
  const half = cornersMm / 2 + aroundMm;
  const reaches: readonly (readonly [Vec3, number])[] = [
    [u, half],
    [v, half],
    [axis, depthMm / 2 + beyondMm],
  ];
  let rest = mesh;
  for (const [direction, reach] of reaches) {
    for (const sign of [1, -1] as const) {
      const normal: Vec3 = [sign * direction[0], sign * direction[1], sign * direction[2]];
      rest = inside(rest, normal, dot(normal, atMm) + reach, mesh.originMm);
    }
  }
  return rest;
}

/** The side of a cut towards the feature; all of it where the plane misses. */
function inside(mesh: Mesh, normal: Vec3, offsetMm: number, originMm: Vec3): Mesh {
  const local = offsetMm - dot(normal, originMm);
  if (!reaches(mesh, normal, local)) return mesh;
  const sides = cutMesh(mesh, [{ normal, offsetMm: local }]).map(({ mesh: side }) => side);
  const kept = sides.find((side) => {
    const { centreMm } = massProperties(side);
    return centreMm !== undefined && dot(normal, centreMm) < offsetMm;
  });
  if (kept === undefined)
    throw new StonehandError(
      'GEOMETRY_FAILED',
      'nothing of the part is left around the bore',
      'Name another bore, or more wall around it: --around 8.',
    );
  return kept;
}

function reaches({ positions }: Mesh, normal: Vec3, offsetMm: number): boolean {
  for (let i = 0; i < positions.length; i += 3)
    if (normal[0] * positions[i] + normal[1] * positions[i + 1] + normal[2] * positions[i + 2] > offsetMm + 1e-6)
      return true;
  return false;
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function sideways(axis: Vec3): [Vec3, Vec3] {
  const least = axis.map(Math.abs).indexOf(Math.min(...axis.map(Math.abs)));
  const d = axis[least];
  const w = axis.map((x, i) => (i === least ? 1 : 0) - d * x);
  const length = Math.hypot(w[0], w[1], w[2]);
  const u: Vec3 = [w[0] / length, w[1] / length, w[2] / length];
  return [u, [axis[1] * u[2] - axis[2] * u[1], axis[2] * u[0] - axis[0] * u[2], axis[0] * u[1] - axis[1] * u[0]]];
}
