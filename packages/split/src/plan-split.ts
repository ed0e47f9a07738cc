import { StonehandError, seededRandom } from '@stonehand/base';
import { massProperties } from '@stonehand/mesh';
import type { Mesh, Search, Vec3 } from '@stonehand/model';
import { bodiesOf } from './bodies.ts';
import { cutInTwo } from './cut-in-two.ts';
import { pieceName } from './cut-mesh.ts';
import {
  type Bed,
  type Corners,
  cornersOf,
  directionsOf,
  extentAlong,
  gridOf,
  lowestFit,
  type PieceFit,
} from './fits.ts';
import { pieceBound } from './piece-bound.ts';
import { type Plane, signedDistances } from './plane.ts';
import { cutsAlong, scoreCut } from './score-cut.ts';

export type SplitOptions = Readonly<{
  /** exactly so many pieces, when more than the fewest are wanted */
  pieces?: number;
  brimMm?: number;
  seed?: number;
  /** shifts of single planes tried after the search */
  rounds?: number;
  /** states kept at each number of cuts */
  beam?: number;
  mostPieces?: number;
}>;
export type SplitPlan = Readonly<{
  planes: readonly Plane[];
  pieces: number;
  bound: number;
  lineMm: number;
  search: Search;
}>;

type Part = Readonly<{
  mesh: Mesh;
  corners: Corners;
  fit: PieceFit;
  grid: { pieces: number; share: number };
  bodies: number;
  volumeMm3: number;
}>;
/** lineMm: sum of the cuts' scores; cost: what states of the same number of pieces are ranked by */
type State = Readonly<{ parts: readonly Part[]; planes: readonly Plane[]; lineMm: number; cost: number }>;

/**
 * Where to cut a part so that every piece fits one of the beds in some pose: few pieces first, then whole bodies, then a
 * short and simple joint line. Beam search over cuts of single pieces, then seeded shifts of the planes.
 * Poses: the part's axes, the long direction of the hull and what is square to it, the normals of the cuts, at any turn.
 * @param mesh closed, in mm
 * @returns planes for cutMesh (none when the part fits whole); bound: proven least number of pieces; lineMm: length of all joint
 * lines, made worse where a cut has many loops or runs along a face
 * @throws StonehandError SPLIT_IMPOSSIBLE when no cuts up to mostPieces do, MESH_OPEN as cutMesh
 */
export function planSplit(
  mesh: Mesh,
  beds: readonly Bed[],
  { pieces, brimMm = 0, seed = 1, rounds = 16, beam = 3, mostPieces = 12 }: SplitOptions = {},
): SplitPlan {
  const wanted = pieces ?? 1;
  const judge = (piece: Mesh, normals: readonly Vec3[]): Part => {
    const corners = cornersOf(piece);
    return {
      mesh: piece,
      corners,
      fit: lowestFit(corners, beds, [...normals, ...directionsOf(corners)], brimMm),
      grid: gridOf(corners, beds, brimMm),
      bodies: bodiesOf(piece).count,
      volumeMm3: massProperties(piece).volumeMm3,
    };
  };
  const whole = judge(mesh, []);
  const sizeMm = sizeOf(whole.corners);
  const bound = pieceBound(mesh, whole.corners, beds);
  let states: State[] = [{ parts: [whole], planes: [], lineMm: 0, cost: 0 }];
  let best: State | undefined;
  for (let count = 1; count <= mostPieces; count++) {
    best = count >= wanted ? states.find(allFit) : undefined;
    if (best !== undefined || count === mostPieces) break;
    states = states
      .flatMap((state) => cutsOf(state, judge, sizeMm))
      .sort(better)
      .slice(0, beam);
    if (states.length === 0) break;
  }
  if (best === undefined) {
    throw new StonehandError(
      'SPLIT_IMPOSSIBLE',
      `no cuts into at most ${mostPieces} pieces were found that fit ${beds.length === 1 ? 'this bed' : `any of ${beds.length} beds`}`,
      'Take a larger bed, allow more pieces, or scale the part down.',
    );
  }
  const refined = shiftPlanes(mesh, best, { judge, seed, rounds, sizeMm });
  const least = Math.max(bound, wanted);
  return {
    planes: withoutNeedlessNames(mesh, refined.planes),
    pieces: refined.parts.length,
    bound,
    lineMm: refined.lineMm,
    search: {
      what: 'pieces of a part',
      value: refined.parts.length,
      bound: least,
      rounds,
      seed,
      ended: refined.parts.length === least ? 'proven' : 'rounds',
    },
  };
}

const fits = (part: Part): boolean => part.fit.scale >= 1;
const allFit = (state: State): boolean => state.parts.every(fits);

/** Pieces that a grid would make of what does not fit yet, then bodies that no longer hang together, then the cost. */
function better(a: State, b: State): number {
  return needed(a) - needed(b) || looseBodies(a) - looseBodies(b) || a.cost - b.cost;
}
const needed = (state: State): number =>
  state.parts.reduce((sum, part) => sum + (fits(part) ? 1 : Math.max(2, part.grid.pieces)), 0);
const looseBodies = (state: State): number => state.parts.reduce((sum, part) => sum + part.bodies - 1, 0);

// Choices of this package, no source. A piece of less than a third of the mean volume is a scrap: a cut that only shaves
// the part until it fits costs up to four times its line. Height stands for the hours and the risk of a tall print.
const SCRAP_SHARE = 0.35;
const SCRAP_FACTOR = 3;
const HEIGHT_WEIGHT = 0.5;

function costOf(parts: readonly Part[], lineMm: number, sizeMm: number): number {
  const mean = parts.reduce((sum, part) => sum + part.volumeMm3, 0) / parts.length;
  let factor = 1;
  let more = 0;
  for (const part of parts) {
    factor += SCRAP_FACTOR * Math.max(0, 1 - part.volumeMm3 / (SCRAP_SHARE * mean));
    // What does not fit is ranked by how much larger than a bed it is; sizeMm makes millimetres of that.
    more += part.fit.heightMm === undefined ? part.grid.share * sizeMm : HEIGHT_WEIGHT * part.fit.heightMm;
  }
  return lineMm * factor + more;
}

function sizeOf(corners: Corners): number {
  return [0, 1, 2].reduce((sum, axis) => {
    const [low, high] = extentAlong(corners, [axis === 0 ? 1 : 0, axis === 1 ? 1 : 0, axis === 2 ? 1 : 0]);
    return sum + 2 * (high - low);
  }, 0);
}

type Judge = (piece: Mesh, normals: readonly Vec3[]) => Part;

/** All promising cuts of the piece that fits worst (the largest, when all fit and more pieces are wanted). */
function cutsOf(state: State, judge: Judge, sizeMm: number): State[] {
  let worst = 0;
  state.parts.forEach((part, i) => {
    if (part.fit.scale < state.parts[worst].fit.scale) worst = i;
  });
  const part = state.parts[worst];
  const normals = state.planes.map((plane) => plane.normal);
  const made: State[] = [];
  for (const direction of directionsOf(part.corners)) {
    for (const { normal, offsetMm, score } of cutsAlong(part.mesh, part.corners, direction, part.grid.pieces)) {
      const halves = halvesOf(part.mesh, { normal, offsetMm });
      if (halves === undefined) continue;
      const parts = halves.map((half) => judge(half, [normal, ...normals]));
      const plane: Plane = { normal, offsetMm, ...(state.parts.length > 1 && { on: pieceName(worst) }) };
      const all = [...state.parts.slice(0, worst), ...parts, ...state.parts.slice(worst + 1)];
      const lineMm = state.lineMm + score;
      made.push({ parts: all, planes: [...state.planes, plane], lineMm, cost: costOf(all, lineMm, sizeMm) });
    }
  }
  return made;
}

/** undefined where the cut misses or cannot be capped: the search then looks elsewhere. */
function halvesOf(mesh: Mesh, plane: Plane): readonly Mesh[] | undefined {
  try {
    const { below, above } = cutInTwo(mesh, plane);
    return below === undefined || above === undefined ? undefined : [below, above];
  } catch (error) {
    if (error instanceof StonehandError && error.code === 'GEOMETRY_FAILED') return undefined;
    throw error;
  }
}

/** Seeded shifts of one plane at a time, kept when everything still fits at a lower cost. */
function shiftPlanes(
  mesh: Mesh,
  start: State,
  { judge, seed, rounds, sizeMm }: Readonly<{ judge: Judge; seed: number; rounds: number; sizeMm: number }>,
): State {
  if (start.planes.length === 0) return start;
  const random = seededRandom(seed);
  let best = start;
  for (let round = 0; round < rounds; round++) {
    const which = random.below(best.planes.length);
    const reach = round % 2 === 0 ? COARSE_SHIFT_MM : FINE_SHIFT_MM;
    const shift = reach * random.normal();
    const planes = best.planes.map((plane, i) =>
      i === which ? { ...plane, offsetMm: plane.offsetMm + shift } : plane,
    );
    const state = stateOf(mesh, planes, judge, sizeMm);
    if (state !== undefined && allFit(state) && better(state, best) < 0) best = state;
  }
  return best;
}
const COARSE_SHIFT_MM = 12;
const FINE_SHIFT_MM = 3;

/** undefined when a cut fails. */
function stateOf(mesh: Mesh, planes: readonly Plane[], judge: Judge, sizeMm: number): State | undefined {
  let pieces: readonly Mesh[] = [mesh];
  let lineMm = 0;
  for (const plane of planes) {
    const at = plane.on === undefined ? 0 : pieces.findIndex((_, i) => pieceName(i) === plane.on);
    const cut = scoreCut(pieces[at], plane.normal, plane.offsetMm);
    if (cut === undefined) return undefined;
    lineMm += cut.score;
    const halves = halvesOf(pieces[at], plane);
    if (halves === undefined) return undefined;
    pieces = [...pieces.slice(0, at), ...halves, ...pieces.slice(at + 1)];
  }
  const normals = planes.map((plane) => plane.normal);
  const parts = pieces.map((piece) => judge(piece, normals));
  return { parts, planes, lineMm, cost: costOf(parts, lineMm, sizeMm) };
}

/** A cut that meets no other piece anyway is a plain plane. */
function withoutNeedlessNames(mesh: Mesh, planes: readonly Plane[]): Plane[] {
  let pieces: readonly Mesh[] = [mesh];
  return planes.map((plane) => {
    const at = plane.on === undefined ? 0 : pieces.findIndex((_, i) => pieceName(i) === plane.on);
    const meetsOthers = pieces.some((piece, i) => i !== at && isCrossed(piece, plane));
    const { below, above } = cutInTwo(pieces[at], plane);
    pieces = [...pieces.slice(0, at), ...[below, above].filter((half) => half !== undefined), ...pieces.slice(at + 1)];
    return meetsOthers ? plane : { normal: plane.normal, offsetMm: plane.offsetMm };
  });
}

function isCrossed(mesh: Mesh, plane: Plane): boolean {
  const distances = signedDistances(mesh, plane);
  return distances.some((d) => d > 0) && distances.some((d) => d < 0);
}
