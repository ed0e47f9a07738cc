import { IDENTITY_AFFINE, StonehandError } from '@stonehand/base';
import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Placement } from '@stonehand/model';
import { separateBodies } from './bodies.ts';
import { cutInTwo } from './cut-in-two.ts';
import { type Plane, unit } from './plane.ts';

/** partFromPiece: part coordinates from piece coordinates; the identity, because pieces stay where they are in the part. */
export type CutPiece = Readonly<{ id: string; mesh: Mesh; partFromPiece: Placement }>;
export type CutOptions = Readonly<{ separate?: boolean }>;

/**
 * Cuts a closed mesh by planes, one after the other. Pieces are closed, their volumes add up to the part's. The piece below
 * a plane keeps its place in the order, the piece above comes right after it; at the end they are named a, b, c … A
 * plane's `on` means the name a piece would have at that moment.
 * @param planes normals need not have length 1 (then offsetMm counts along the unit normal)
 * @param separate bodies that no longer hang together become pieces of their own (default false)
 * @throws StonehandError MESH_OPEN, GEOMETRY_FAILED, or USAGE for a plane without a direction or an unknown piece
 */
export function cutMesh(mesh: Mesh, planes: readonly Plane[], { separate = false }: CutOptions = {}): CutPiece[] {
  if (halfEdgeTwins(mesh).includes(-1)) {
    throw new StonehandError(
      'MESH_OPEN',
      'a mesh with open edges cannot be cut into closed pieces',
      'Repair the mesh first.',
    );
  }
  let pieces: Mesh[] = [mesh];
  for (const stated of planes) {
    const plane = { ...stated, normal: unit(stated.normal) };
    if (!plane.normal.every(Number.isFinite) || !Number.isFinite(plane.offsetMm)) {
      throw new StonehandError(
        'USAGE',
        'a cutting plane has no direction or no offset',
        'Give a normal and an offset.',
      );
    }
    if (plane.on !== undefined && !pieces.some((_, i) => pieceName(i) === plane.on)) {
      throw new StonehandError(
        'USAGE',
        `a cut names piece ${plane.on}, which does not exist yet`,
        'Check the order of the cuts.',
      );
    }
    pieces = pieces.flatMap((piece, i) => {
      if (plane.on !== undefined && pieceName(i) !== plane.on) return [piece];
      const { below, above } = cutInTwo(piece, plane);
      return [below, above].filter((half) => half !== undefined);
    });
  }
  if (separate) pieces = pieces.flatMap(separateBodies);
  return pieces.map((piece, i) => ({ id: pieceName(i), mesh: piece, partFromPiece: IDENTITY_AFFINE }));
}

/** a … z, then aa, ab … */
export function pieceName(index: number): string {
  const last = String.fromCharCode(97 + (index % 26));
  return index < 26 ? last : pieceName(Math.floor(index / 26) - 1) + last;
}
