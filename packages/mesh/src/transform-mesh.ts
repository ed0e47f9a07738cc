import { applyAffine, determinant, StonehandError } from '@stonehand/base';
import type { Mesh, Placement } from '@stonehand/model';
import { NO_OFFSET } from './mesh-file.ts';

/**
 * The mesh moved by twelve numbers, row-major 3×4, column vectors. A mirroring placement also turns the triangles, so that
 * they keep facing outwards. Precision stays that of the mesh: single-precision corners are rounded to 2⁻²⁴ of their size.
 * A mesh with an offset keeps one: only the offset takes the translation.
 * @throws StonehandError USAGE unless the placement is twelve finite numbers with a determinant other than 0
 */
export function transformMesh(mesh: Mesh, affine: Placement): Mesh {
  const turn = affine.length === 12 ? determinant(affine) : Number.NaN;
  if (!affine.every(Number.isFinite) || !(Math.abs(turn) > 0)) {
    throw new StonehandError(
      'USAGE',
      `a placement needs twelve finite numbers that keep volume; this one is [${affine.join(', ')}]`,
      'Check the scale and the rotation: none may be 0.',
    );
  }
  const near = mesh.originMm.every((o) => o === 0);
  const originMm = near ? NO_OFFSET : applyAffine(affine, mesh.originMm);
  const positions = mesh.positions.slice();
  movePoints(positions, near ? affine : withoutTranslation(affine));
  return { positions, triangles: turn < 0 ? turnTriangles(mesh.triangles) : mesh.triangles, originMm };
}

/** The same surface facing the other way. */
export function turnInsideOut(mesh: Mesh): Mesh {
  return { ...mesh, triangles: turnTriangles(mesh.triangles) };
}

function withoutTranslation(m: Placement): Placement {
  return [m[0], m[1], m[2], 0, m[4], m[5], m[6], 0, m[8], m[9], m[10], 0];
}

function movePoints(positions: Float32Array | Float64Array, m: Placement): void {
  const [a, b, c, d, e, f, g, h, i, j, k, l] = m;
  for (let p = 0; p < positions.length; p += 3) {
    const x = positions[p];
    const y = positions[p + 1];
    const z = positions[p + 2];
    positions[p] = a * x + b * y + c * z + d;
    positions[p + 1] = e * x + f * y + g * z + h;
    positions[p + 2] = i * x + j * y + k * z + l;
  }
}

function turnTriangles(triangles: Uint32Array): Uint32Array {
  const turned = triangles.slice();
  for (let h = 0; h < turned.length; h += 3) {
    turned[h + 1] = triangles[h + 2];
    turned[h + 2] = triangles[h + 1];
  }
  return turned;
}
