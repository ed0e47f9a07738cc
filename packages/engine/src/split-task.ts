import { StonehandError } from '@stonehand/base';
import { findBores } from '@stonehand/inspect';
import { meshHash } from '@stonehand/mesh';
import type { Joint, Mesh, Placement, Printer, Recipe, Search, Vec3 } from '@stonehand/model';
import {
  cutMesh,
  type JointOptions,
  type JointWish,
  joinPieces,
  type Plane,
  planSplit,
  type Region,
} from '@stonehand/split';
import type { Task, TaskContext } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import { storeMesh } from './mesh-store.ts';

export type SplitInput = Readonly<{
  partId: string;
  mesh: MeshRef;
  recipe: Recipe;
  printers: readonly Pick<Printer, 'id' | 'usable' | 'heightMm' | 'keepOut'>[];
  pieces?: number;
  /** cuts that were accepted: they are made as they are */
  accepted?: readonly Plane[];
  /** cuts that are made in any case */
  fixed?: readonly Plane[];
  /** where no cut may go, beside the bores and bosses that are found in the mesh */
  spared?: readonly Region[];
  showSide?: Vec3;
  joint?: JointWish;
  glueGapMm?: number;
  gapPerSideMm?: number;
  filamentMm?: number;
  rounds?: number;
  seed: number;
}>;

export type SplitPiece = Readonly<{
  id: string;
  ref: MeshRef;
  partFromPiece: Placement;
  /** a way up that fits, out of the plate in the piece's coordinates; absent for accepted cuts */
  up?: Vec3;
  /** a printed key, not a piece of the part */
  key?: boolean;
}>;

export type SplitOutcome = Readonly<{
  planes: readonly Plane[];
  bound: number;
  /** what the plain rule of equal slabs would make */
  slabs?: number;
  search?: Search;
  /** what the division costs, in mm³ of plastic or what is as bad; absent for accepted cuts */
  costMm3?: number;
  /** columns of support under all pieces, as planned */
  supportMm3?: number;
  /** bores and bosses that a cut goes through */
  crossed?: number;
  symmetric?: boolean;
  pieces: readonly SplitPiece[];
  joints: readonly Joint[];
  glueMm3: number;
  /** why the joints that were asked for could not be made */
  refused?: string;
}>;

/** Where to cut so that every piece fits one of the printers, and the pieces with their joints, kept in the cache by content. */
export const splitTask: Task<SplitInput, SplitOutcome> = {
  name: 'split',
  keyed: ({ mesh, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh) }),
  async run(input, { cacheFolder }) {
    const { mesh } = await loadMesh(input.mesh, cacheFolder);
    const regions = [...featuresOf(mesh), ...(input.spared ?? [])];
    const plan: Planned =
      input.accepted === undefined ? planned(mesh, regions, input) : { planes: input.accepted, bound: 1, ups: [] };
    const cut = cutMesh(mesh, plan.planes);
    const joined = await joinedOrNot(cut, plan.planes, regions, input);
    const keep = (piece: Mesh, name: string): MeshRef => stored(piece, `${input.mesh.name}, ${name}`, cacheFolder);
    const keys = joined.loose.filter(({ kind }) => kind === 'key');
    const { ups, ...said } = plan;
    return {
      ...said,
      pieces: [
        ...joined.pieces.map(({ id, mesh: piece, partFromPiece }, i) => ({
          id,
          ref: keep(piece, `piece ${id}`),
          partFromPiece,
          ...(ups[i] === undefined ? {} : { up: ups[i] }),
        })),
        ...keys.map(({ mesh: key, name }) => ({
          id: name,
          ref: keep(key, `key ${name}`),
          partFromPiece: cut[0]!.partFromPiece,
          key: true,
        })),
      ],
      joints: joined.joints,
      glueMm3: joined.glueMm3,
      ...(joined.refused === undefined ? {} : { refused: joined.refused }),
    };
  },
};

type Planned = Pick<
  SplitOutcome,
  'planes' | 'bound' | 'slabs' | 'search' | 'costMm3' | 'supportMm3' | 'crossed' | 'symmetric'
> &
  Readonly<{ ups: readonly Vec3[] }>;

function planned(
  mesh: Mesh,
  regions: readonly Region[],
  { printers, recipe, pieces, fixed, showSide, rounds, seed }: SplitInput,
): Planned {
  const plan = planSplit(mesh, printers, {
    brimMm: recipe.brimMm,
    recipe,
    regions,
    seed,
    ...(showSide === undefined ? {} : { showSide }),
    ...(rounds === undefined ? {} : { rounds }),
    ...(pieces === undefined ? {} : { pieces }),
    ...(fixed === undefined ? {} : { fixed }),
  });
  const { planes, bound, slabs, search, costMm3, supportMm3, crossed, mirrors, ups } = plan;
  return {
    planes,
    bound,
    ...(slabs === undefined ? {} : { slabs }),
    search,
    costMm3,
    supportMm3,
    crossed,
    symmetric: mirrors.length > 0,
    ups,
  };
}

/** Bores, bosses and pockets, about their axes. */
function featuresOf(mesh: Mesh): Region[] {
  return findBores(mesh).map(({ kind, atMm, axis, depthMm, cornersMm }) => {
    const end = (sign: number): Vec3 => {
      const at = (d: 0 | 1 | 2): number => atMm[d] + (sign * depthMm * axis[d]) / 2;
      return [at(0), at(1), at(2)];
    };
    return { what: kind, fromMm: end(-1), toMm: end(1), radiusMm: cornersMm / 2 };
  });
}

type Joined = Awaited<ReturnType<typeof joinPieces>> & Readonly<{ refused?: string }>;

/** A part that the solid kernel refuses is cut all the same, with plain faces, and says why. */
async function joinedOrNot(
  cut: ReturnType<typeof cutMesh>,
  planes: readonly Plane[],
  regions: readonly Region[],
  { partId, joint, glueGapMm, gapPerSideMm, filamentMm, showSide }: SplitInput,
): Promise<Joined> {
  const options: JointOptions = {
    partId,
    regions,
    ...(joint === undefined ? {} : { wish: joint }),
    ...(glueGapMm === undefined ? {} : { glueGapMm }),
    ...(gapPerSideMm === undefined ? {} : { gapPerSideMm }),
    ...(filamentMm === undefined ? {} : { filamentMm }),
    ...(showSide === undefined ? {} : { showSide }),
  };
  try {
    return await joinPieces(cut, planes, options);
  } catch (error) {
    if (!(error instanceof StonehandError) || error.code !== 'GEOMETRY_FAILED') throw error;
    return { pieces: cut, joints: [], designs: [], loose: [], glueMm3: 0, refused: error.message };
  }
}

function stored(mesh: Mesh, name: string, cacheFolder: TaskContext['cacheFolder']): MeshRef {
  const contentHash = meshHash(mesh);
  storeMesh(cacheFolder, contentHash, mesh);
  return { name, contentHash, scale: 1 };
}
