import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { type Seam, type SeamRules, seamAt } from './candidate-cuts.ts';
import { cutInTwo } from './cut-in-two.ts';
import { pieceName } from './cut-mesh.ts';
import { type Ground, judge, type Part } from './judge.ts';
import type { Plane } from './plane.ts';
import { SPLIT_WEIGHTS } from './weights.ts';

/** A part cut so far: pieces in the order of their names, the cuts that made them, and what all of it costs. */
export type State = Readonly<{
  parts: readonly Part[];
  planes: readonly Plane[];
  seams: readonly Seam[];
  costMm3: number;
  /** the state with one cut less, so that a moved cut need not begin again from the whole */
  before?: State;
}>;

export type Context = Readonly<{ ground: Ground; rules: SeamRules & Readonly<{ mirrors: readonly Plane[] }> }>;

export const allFit = (state: State): boolean => state.parts.every((part) => part.pose !== undefined);

/** What to cut next: the piece that is farthest from fitting; once all fit, the one that costs most. */
export function worstOf({ parts }: State): number {
  const badness = (part: Part): number =>
    part.pose === undefined ? 1e12 * part.grid.pieces * part.grid.share : part.pose.costMm3;
  let worst = 0;
  parts.forEach((part, i) => {
    if (badness(part) > badness(parts[worst])) worst = i;
  });
  return worst;
}

/** One cut more, of piece `at`; undefined where it misses, cannot be capped or is forbidden. */
export function withCut(state: State, at: number, plane: Plane, { ground, rules }: Context): State | undefined {
  const part = state.parts[at];
  const { normal, offsetMm } = plane;
  // Only the whole is halved so; further cuts in its planes of symmetry must earn their place.
  const halving = state.parts.length === 1 && isMirror(plane, rules.mirrors);
  const seam = seamAt(part, normal, offsetMm, rules, halving);
  if (seam === undefined) return undefined;
  const halves = halvesOf(part.mesh, plane);
  if (halves === undefined) return undefined;
  const named: Plane = { normal, offsetMm, ...(state.parts.length > 1 && { on: pieceName(at) }) };
  const planes = [...state.planes, named];
  const parts = [
    ...state.parts.slice(0, at),
    ...halves.map((half) => judge(half, planes, ground)),
    ...state.parts.slice(at + 1),
  ];
  const seams = [...state.seams, seam];
  return { parts, planes, seams, costMm3: costOf(parts, seams), before: state };
}

export function wholeState(whole: Part): State {
  return { parts: [whole], planes: [], seams: [], costMm3: costOf([whole], []) };
}

/**
 * Further cuts of a state; a plane without `on` cuts every piece it meets.
 * @returns undefined where one misses every piece, cannot be capped or is forbidden
 */
export function withCuts(from: State, planes: readonly Plane[], context: Context): State | undefined {
  let state = from;
  for (const plane of planes) {
    const named = plane.on === undefined ? undefined : state.parts.findIndex((_, i) => pieceName(i) === plane.on);
    // From the last piece back, so that the halves do not shift what is still to be cut.
    const targets = named === undefined ? state.parts.map((_, i) => i).reverse() : [named];
    let hits = 0;
    for (const at of targets) {
      const next: State | undefined = at < 0 ? undefined : withCut(state, at, plane, context);
      if (next === undefined) continue;
      state = next;
      hits++;
    }
    if (hits === 0) return undefined;
  }
  return state;
}

function isMirror({ normal, offsetMm }: Plane, mirrors: readonly Plane[]): boolean {
  return mirrors.some(
    (mirror) =>
      normal.every((v, d) => Math.abs(v - mirror.normal[d]) < 1e-6) && Math.abs(offsetMm - mirror.offsetMm) < 0.01,
  );
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

function costOf(parts: readonly Part[], seams: readonly Seam[]): number {
  const w = SPLIT_WEIGHTS;
  const mean = parts.reduce((sum, part) => sum + part.volumeMm3, 0) / parts.length;
  let cost = seams.reduce((sum, seam) => sum + seam.costMm3, 0);
  for (const part of parts) {
    const pieces = part.pose === undefined ? Math.max(2, part.grid.pieces) * part.grid.share ** 0.25 : 1;
    cost += w.piece * pieces + (part.pose ?? part.freePose).costMm3;
    cost += w.looseBody * (part.bodies - 1);
    cost += w.scrap * Math.max(0, 1 - part.volumeMm3 / (w.scrapShare * mean));
  }
  return cost;
}
