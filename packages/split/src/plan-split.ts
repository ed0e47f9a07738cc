import { StonehandError, seededRandom } from '@stonehand/base';
import type { Mesh, Recipe, Search, Vec3 } from '@stonehand/model';
import { candidateCuts } from './candidate-cuts.ts';
import { cutInTwo } from './cut-in-two.ts';
import { pieceName } from './cut-mesh.ts';
import { gridPlanes, longestInSlabs } from './equal-slabs.ts';
import { type FinalCost, finalCost, type Measured } from './final-cost.ts';
import { type Bed, directionsOf } from './fits.ts';
import { BETWEEN, type Ground, judge } from './judge.ts';
import { mirrorPlanes } from './mirror-planes.ts';
import { pieceBound } from './piece-bound.ts';
import { type Plane, signedDistances, unit } from './plane.ts';
import type { Region } from './regions.ts';
import { allFit, type Context, type State, wholeState, withCut, withCuts, worstOf } from './state.ts';
import { SPLIT_WEIGHTS } from './weights.ts';

export type SplitOptions = Readonly<{
  /** exactly so many pieces, when more than the fewest are wanted */
  pieces?: number;
  brimMm?: number;
  /** how pieces are printed: what support and height cost. Default: support from 45° on, 15 % of its columns */
  recipe?: Recipe;
  /** cuts that are made in any case, before the search adds its own */
  fixed?: readonly Plane[];
  /** where no cut should go, or must not */
  regions?: readonly Region[];
  /** out of the side to show, in mesh coordinates */
  showSide?: Vec3;
  seed?: number;
  /** shifts and turns of single planes tried after the search */
  rounds?: number;
  /** states kept at each number of cuts */
  beam?: number;
  mostPieces?: number;
}>;

export type SplitPlan = Readonly<{
  planes: readonly Plane[];
  pieces: number;
  bound: number;
  /** pieces that the plain rule makes: the longest side in equal slabs; absent when it finds none */
  slabs?: number;
  /** by piece, in order: out of the plate, in mesh coordinates, in the way up it was judged in */
  ups: readonly Vec3[];
  /** what the division costs, in mm³ of plastic or what is as bad (SPLIT_WEIGHTS) */
  costMm3: number;
  /** columns of support under all pieces, each in its way up */
  supportMm3: number;
  /** length of all joint lines, inside and outside */
  lineMm: number;
  /** bores, bosses and pockets that a cut goes through */
  crossed: number;
  /** the part is its own mirror image in these planes */
  mirrors: readonly Plane[];
  /** the cheapest of each number of pieces that was found, fewest first */
  choices: readonly SplitChoice[];
  search: Search;
}>;

export type SplitChoice = Readonly<{ pieces: number; supportMm3: number; lineMm: number; costMm3: number }>;

const PLAIN_RECIPE: Recipe = {
  id: 'plain',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'gyroid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 10,
};

/** Of each state so many cuts are really made and judged. */
const TRIED = 8;
/** Directions between the axes are tried for the first cuts only: they decide most, and later ones are many. */
const SLANTED_UP_TO = 3;
/** With more pieces than this the search only goes on with the best. */
const MANY = 8;
/** After the first number of pieces that fits, so many more are looked at: they may save more support than they cost. */
const MORE_PIECES = 2;
const FINALISTS = 4;
/** The best of so many numbers of pieces is shifted. */
const SHIFTED = 3;

/**
 * Where to cut a part so that every piece fits one of the beds in some way up, at the least cost: number of pieces, seam as it
 * is seen, features cut, scraps, and support and height of each piece in its own best way up (see SPLIT_WEIGHTS). Beam search over the
 * binary tree of cuts, equal slabs among the starts; then seeded shifts and turns of the planes, then the best few
 * compared by exact support. More pieces than the longest side in equal slabs would make only where each saves a good
 * share of the part's own plastic beyond its weight.
 * @param mesh closed, in mm
 * @returns planes for cutMesh (none when the part fits whole); bound: proven least number of pieces
 * @throws StonehandError SPLIT_IMPOSSIBLE when no cuts up to mostPieces do, MESH_OPEN as cutMesh
 */
export function planSplit(
  mesh: Mesh,
  beds: readonly Bed[],
  {
    pieces,
    brimMm = 0,
    recipe = PLAIN_RECIPE,
    fixed = [],
    regions = [],
    showSide,
    seed = 1,
    rounds = 16,
    beam = 6,
    mostPieces = 64,
  }: SplitOptions = {},
): SplitPlan {
  const wanted = pieces ?? 1;
  const ground: Ground = { beds, brimMm, recipe };
  const measured: Measured = new Map();
  const whole = judge(mesh, [], ground);
  const middle = add(whole.centre, mesh.originMm);
  const mirrors = mirrorPlanes(mesh, whole.corners, middle);
  const bound = pieceBound(mesh, whole.corners, beds);
  const context: Context = {
    ground,
    rules: { regions, mirrors, ...(showSide === undefined ? {} : { showSide }) },
  };
  const start = withCuts(wholeState(whole), fixed.map(withUnitNormal), context);
  if (start === undefined) {
    throw new StonehandError(
      'SPLIT_IMPOSSIBLE',
      'a stated cut misses the part, cannot be closed or goes through what must not be cut',
      'Move it, or leave it out.',
    );
  }
  const slabs = pieces === undefined && fixed.length === 0 ? slabState() : undefined;
  const plain = pieces === undefined ? [slabs, gridState()] : [];
  const finalists = ofEachNumber([...searchTree(start), ...plain.filter((state) => state !== undefined)]);
  if (finalists.length === 0) {
    throw new StonehandError(
      'SPLIT_IMPOSSIBLE',
      `no cuts into ${pieces === undefined ? `at most ${mostPieces}` : `exactly ${pieces}`} pieces were found that fit ${beds.length === 1 ? 'this bed' : `any of ${beds.length} beds`}`,
      'Take a larger bed, allow more pieces, or scale the part down.',
    );
  }
  const ranked = cheapest(finalists.map(judged));
  const firsts = ranked.filter(({ state }, i) => i === ranked.findIndex((other) => sameNumber(other.state, state)));
  const shifted = cheapest(firsts.slice(0, SHIFTED).map(({ state }) => judged(shiftPlanes(state))));
  const best = shifted.find((one) => paysInSupport(one, [...shifted, ...ranked])) ?? ranked.filter(atMostSlabs)[0];
  const { parts, planes, seams } = best.state;
  const least = Math.max(bound, wanted, fixed.length + 1);
  return {
    planes: withoutNeedlessNames(mesh, planes),
    pieces: parts.length,
    bound,
    ...(slabs === undefined ? {} : { slabs: slabs.parts.length }),
    ups: best.cost.ups,
    costMm3: best.value,
    supportMm3: best.cost.supportMm3,
    lineMm: lineOf(best.state),
    crossed: seams.reduce((sum, seam) => sum + seam.crossed, 0),
    mirrors,
    choices: choicesOf([...shifted, ...ranked]),
    search: {
      what: 'pieces of a part',
      value: parts.length,
      bound: least,
      rounds,
      seed,
      ended: parts.length === least ? 'proven' : 'rounds',
    },
  };

  /** What more pieces could save at most, by the quick measure. */
  function supportCost({ parts }: State): number {
    return parts.reduce((sum, { pose }) => sum + recipe.supportShare * (pose?.supportMm3 ?? 0), 0);
  }

  function searchTree(from: State): State[] {
    const done: State[] = [];
    let states: State[] = [from];
    let first: number | undefined;
    const last = pieces ?? Math.min(mostPieces, (slabs?.parts.length ?? mostPieces) + MORE_PIECES);
    for (let count = from.parts.length; count <= last; count++) {
      const fitting = states.filter((state) => allFit(state) && (pieces === undefined || count === pieces));
      done.push(...fitting);
      if (fitting.length > 0 && (pieces !== undefined || count === 1)) break;
      first ??= fitting.length > 0 ? count : undefined;
      if (fitting.some((state) => supportCost(state) < SPLIT_WEIGHTS.piece)) break;
      if (first !== undefined && (count >= first + MORE_PIECES || first > MANY)) break;
      states = widen(
        states,
        states[0].parts.length + states[0].parts.filter(({ pose }) => pose === undefined).length > MANY ? 1 : beam,
      );
      if (states.length === 0) break;
    }
    return done;
  }

  function widen(states: readonly State[], width: number): State[] {
    const made: State[] = [];
    for (const state of states) {
      const worst = worstOf(state);
      const part = state.parts[worst];
      const slanted = state.parts.length <= SLANTED_UP_TO ? BETWEEN : [];
      const directions = [...directionsOf(part.corners), ...state.planes.map(({ normal }) => normal), ...slanted];
      let tried = 0;
      for (const cut of candidateCuts(part, directions, ground, context.rules)) {
        if (cut.promiseMm3 === Infinity) break;
        if (tried >= TRIED && !cut.symmetric) continue;
        const next = withCut(state, worst, cut, context);
        if (next === undefined) continue;
        tried++;
        made.push(next);
      }
    }
    // Different ways to the same pieces are one.
    const costs = new Set<string>();
    return made
      .sort(byCost)
      .filter(({ costMm3 }) => {
        const key = costMm3.toFixed(3);
        return !costs.has(key) && costs.add(key) !== undefined;
      })
      .slice(0, width);
  }

  /** The plain rule: the longest side in equal slabs. */
  function slabState(): State | undefined {
    if (whole.pose !== undefined) return undefined;
    const slabs = longestInSlabs(whole, ground, mostPieces);
    return slabs === undefined ? undefined : withCuts(wholeState(whole), slabs, context);
  }

  /** A grid of boxes, which always fits: what the search must not be worse than. */
  function gridState(): State | undefined {
    if (whole.pose !== undefined || fixed.length > 0 || whole.grid.pieces > mostPieces) return undefined;
    const state = withCuts(wholeState(whole), gridPlanes(whole), context);
    return state !== undefined && allFit(state) ? state : undefined;
  }

  /** The cheapest few of each number of pieces. */
  function ofEachNumber(states: readonly State[]): State[] {
    const counts = [...new Set(states.map(({ parts }) => parts.length))];
    return counts.flatMap((count) =>
      states
        .filter(({ parts }) => parts.length === count)
        .sort(byCost)
        .slice(0, FINALISTS),
    );
  }

  function judged(state: State): Judged {
    const cost = finalCost(state, recipe, ground, measured);
    return { state, cost, value: cost.costMm3 };
  }

  function atMostSlabs({ state }: Judged): boolean {
    return slabs === undefined || state.parts.length <= slabs.parts.length;
  }

  /** More pieces than the plain rule makes must each save a share of the part's own plastic, in support. */
  function paysInSupport(one: Judged, all: readonly Judged[]): boolean {
    if (slabs === undefined || atMostSlabs(one)) return true;
    const [plain] = cheapest(all.filter(atMostSlabs));
    const beyond = one.state.parts.length - slabs.parts.length;
    const savedMm3 = recipe.supportShare * (plain.cost.supportMm3 - one.cost.supportMm3);
    return savedMm3 >= beyond * SPLIT_WEIGHTS.beyondSlabsShare * whole.volumeMm3;
  }

  /** Seeded shifts and small turns of one plane at a time, kept when everything still fits at a lower cost. */
  function shiftPlanes(from: State): State {
    const free = from.planes.length - fixed.length;
    if (free <= 0) return from;
    const random = seededRandom(seed);
    let best = from;
    for (let round = 0; round < rounds; round++) {
      const which = fixed.length + random.below(free);
      let earlier = best;
      while (earlier.planes.length > which && earlier.before !== undefined) earlier = earlier.before;
      const [plane, ...later] = best.planes.slice(which);
      const state = withCuts(earlier, [moved(plane, round), ...later], context);
      if (state !== undefined && allFit(state) && state.costMm3 < best.costMm3) best = state;
    }
    return best;

    function moved(plane: Plane, round: number): Plane {
      const reach = round % 2 === 0 ? COARSE_SHIFT_MM : FINE_SHIFT_MM;
      const offsetMm = plane.offsetMm + reach * random.normal();
      if (round % 4 !== 3) return { ...plane, offsetMm };
      const [x, y, z] = plane.normal;
      const normal = unit([x + TURN * random.normal(), y + TURN * random.normal(), z + TURN * random.normal()]);
      // Turned about the part's middle, so that a turn is not a shift as well.
      const lever = dot(normal, middle) - dot(plane.normal, middle);
      return { ...plane, normal, offsetMm: plane.offsetMm + lever };
    }
  }
}

type Judged = Readonly<{ state: State; cost: FinalCost; value: number }>;
const cheapest = (states: readonly Judged[]): Judged[] => [...states].sort((a, b) => a.value - b.value);

const sameNumber = (a: State, b: State): boolean => a.parts.length === b.parts.length;
const lineOf = ({ seams }: State): number => seams.reduce((sum, seam) => sum + seam.lineMm, 0);

function choicesOf(states: readonly Judged[]): SplitChoice[] {
  const choices = new Map<number, SplitChoice>();
  for (const { state, cost, value } of cheapest(states)) {
    const pieces = state.parts.length;
    if (choices.has(pieces)) continue;
    choices.set(pieces, { pieces, supportMm3: cost.supportMm3, lineMm: lineOf(state), costMm3: value });
  }
  return [...choices.values()].sort((a, b) => a.pieces - b.pieces);
}

const COARSE_SHIFT_MM = 12;
const FINE_SHIFT_MM = 3;
const TURN = 0.06;

const byCost = (a: State, b: State): number => a.costMm3 - b.costMm3;
const withUnitNormal = (plane: Plane): Plane => ({ ...plane, normal: unit(plane.normal) });
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const add = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];

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
