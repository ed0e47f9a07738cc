import type { Fault, FitVerdict, Joint, Pose, Printer, Recipe, Ring, Search } from '@stonehand/model';
import { fitHull, type PosedHull } from '@stonehand/orient';
import type { Plane } from '@stonehand/split';
import type { MeshRef } from './mesh-ref.ts';
import type { PartWork } from './part-work.ts';
import type { PoseAndHull } from './pose-task.ts';
import type { SplitOutcome } from './split-task.ts';

/** Each search has its own measure of a round and its own default; a stated number replaces them all. */
export interface SearchBudget {
  readonly rounds?: number;
  readonly seed: number;
}

/** What counts for a way up can be asked for: support alone. */
export type PoseBudget = SearchBudget & Readonly<{ weights?: 'support' }>;

/** A piece before it is sliced: its mesh, its pose, and the printers on which that pose fits. */
export type PieceWork = Readonly<{
  id: string;
  part: PartWork;
  ref: MeshRef;
  pose: Pose;
  printers: readonly Printer[];
  /** by printer: a turn about z at which it fits, and whether only just, so that its outline must not be grown */
  turns: Readonly<Record<string, TurnThatFits>>;
  partFromPiece: readonly number[];
  joints: readonly Joint[];
}>;

type TurnThatFits = Readonly<{ turnDeg: number; tight: boolean }>;

/** More than packing grows an outline by when it drops corners. */
const ROOM_MM = 2.5;
const TIGHT_MM = 0.05;

/** What is known of a part after the questions "which way up" and "does it fit". */
export type PartOutcome = Readonly<{
  part: PartWork;
  poses: readonly Pose[];
  /** of each pose the hull of its shadow, x, y pairs */
  hulls?: readonly (readonly number[])[];
  fits: readonly FitVerdict[];
  pieces: readonly PieceWork[];
  searches: readonly Search[];
  /** where it is cut, when it is */
  planes?: readonly Plane[];
  /** all that is known of its cuts */
  split?: SplitOutcome;
  /** why no piece of it can be printed, for people */
  why?: string;
  fault?: Fault;
}>;

/** The best pose that fits at least one of the printers, with all printers on which that pose fits. */
export function pieceOf(
  id: string,
  part: PartWork,
  ref: MeshRef,
  hulls: readonly PosedHull[],
  partFromPiece: readonly number[],
  joints: readonly Joint[],
): PieceWork | undefined {
  for (const { pose, hullXY, outline } of hulls) {
    const turns: Record<string, TurnThatFits> = {};
    for (const printer of part.printers) {
      const turn = turnThatFits(pose, hullXY, printer, part.recipe, outline);
      if (turn !== undefined) turns[printer.id] = turn;
    }
    const printers = part.printers.filter((printer) => turns[printer.id] !== undefined);
    if (printers.length > 0) return { id, part, ref, pose, printers, turns, partFromPiece, joints };
  }
  return undefined;
}

// Asked first for a turn with room to spare: at the exact limit of a fit nothing may be rounded.
function turnThatFits(
  pose: Pose,
  hullXY: Float64Array,
  printer: Printer,
  recipe: Recipe,
  outline: readonly Ring[] = [],
): TurnThatFits | undefined {
  if (pose.heightMm > printer.heightMm) return undefined;
  for (const roomMm of [ROOM_MM, TIGHT_MM, 0]) {
    const fit = fitHull(hullXY, printer.usable, {
      brimMm: recipe.brimMm + roomMm,
      keepOut: printer.keepOut,
      outline,
    });
    if (fit.fits) return { turnDeg: fit.turnDeg, tight: roomMm < ROOM_MM };
  }
  return undefined;
}

// Hulls travel as plain numbers.
export function typed({ pose, hullXY }: PoseAndHull): PosedHull {
  return { pose, hullXY: Float64Array.from(hullXY) };
}
