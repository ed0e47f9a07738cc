import { meshHash } from '@stonehand/mesh';
import type { Joint, Placement, Printer, Search } from '@stonehand/model';
import { chooseJoints, cutMesh, type Plane, planSplit } from '@stonehand/split';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import { storeMesh } from './mesh-store.ts';

export type SplitInput = Readonly<{
  partId: string;
  mesh: MeshRef;
  printers: readonly Pick<Printer, 'id' | 'usable' | 'heightMm' | 'keepOut'>[];
  brimMm: number;
  pieces?: number;
  /** cuts that were accepted: they are made as they are */
  accepted?: readonly Plane[];
  rounds?: number;
  seed: number;
}>;

export type SplitOutcome = Readonly<{
  planes: readonly Plane[];
  bound: number;
  search?: Search;
  pieces: readonly Readonly<{ id: string; ref: MeshRef; partFromPiece: Placement }>[];
  joints: readonly Joint[];
}>;

/** Where to cut so that every piece fits one of the printers, and the pieces themselves, kept in the cache by content. */
export const splitTask: Task<SplitInput, SplitOutcome> = {
  name: 'split',
  keyed: ({ mesh, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh) }),
  async run({ partId, mesh: ref, printers, brimMm, pieces, accepted, rounds, seed }, { cacheFolder }) {
    const { mesh } = await loadMesh(ref, cacheFolder);
    const plan =
      accepted === undefined
        ? planSplit(mesh, printers, {
            brimMm,
            seed,
            ...(rounds === undefined ? {} : { rounds }),
            ...(pieces === undefined ? {} : { pieces }),
          })
        : { planes: accepted, bound: 1 };
    const cut = cutMesh(mesh, plan.planes);
    return {
      ...plan,
      pieces: cut.map((piece) => {
        const contentHash = meshHash(piece.mesh);
        storeMesh(cacheFolder, contentHash, piece.mesh);
        return {
          id: piece.id,
          ref: { name: `${ref.name}, piece ${piece.id}`, contentHash, scale: 1 },
          partFromPiece: piece.partFromPiece,
        };
      }),
      joints: chooseJoints(cut, plan.planes, { partId }),
    };
  },
};
