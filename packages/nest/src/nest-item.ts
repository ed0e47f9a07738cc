import type { Printer, Ring } from '@stonehand/model';
import { type Container, plateContainer } from './container.ts';
import { distinctTurns } from './distinct-turns.ts';
import { type Shape, shapeOf } from './shape.ts';

/** One copy to be printed: its shadow on the plate, and where it may be printed for how long. */
export type NestItem = Readonly<{
  copyId: string;
  /** outer rings counter-clockwise, holes clockwise, without brim; other copies may lie inside a hole */
  footprint: readonly Ring[];
  heightMm: number;
  brimMm: number;
  materialId: string;
  recipeId: string;
  choices: readonly Readonly<{ printerId: string; durationS: number; massG: number }>[];
  /** the printer it must go to, of its choices */
  pinned?: string;
  /** copies of a family mate; they go to one printer when the hours allow */
  family?: string;
  /** copies with the same word lie on one plate where they fit one */
  together?: string;
  /** copies with the same word never share a plate */
  apart?: string;
  /** it has a face to show, which a neighbour's failure would spoil */
  shows?: boolean;
  /** how far the outline may be grown to lose corners; default: as little as leaves few. 0 for a copy that fits only just */
  simplifyMm?: number;
  /** the only turns allowed, degrees counter-clockwise; default: the search's steps */
  turnsDeg?: readonly number[];
}>;

/** Steps of 15° reach any lean closely enough for pairs to interlock; finer ones only where nothing else fits (see `fitAlone`). */
export const DEFAULT_TURNS_DEG: readonly number[] = Array.from({ length: 24 }, (_, k) => 15 * k);

// A shadow grown by at most this much costs no more room than a tenth of the usual clearance.
/**
 * Outlines are grown by up to this much to lose corners: from the first of these at which few convex parts are left. A curved
 * outline of 200 parts costs a thousand times what one of 12 does, for a gap that is a fraction of the clearance.
 */
const SIMPLIFY_MM = [0.25, 0.5, 1, 2] as const;
const FEW_PARTS = 14;

/** The outlines of copies and plates, each made once: equal copies share a shape. */
export type Shapes = Readonly<{
  clearanceMm: number;
  shapes: Map<string, Shape>;
  byItem: Map<string, Shape>;
  plates: Map<string, Container>;
  turns: Map<string, readonly number[]>;
}>;

export function newShapes(clearanceMm: number): Shapes {
  return { clearanceMm, shapes: new Map(), byItem: new Map(), plates: new Map(), turns: new Map() };
}

/** Copies keep clearance plus both their brims from each other, and their own brim from the edge of the usable area. */
export function shapeOfItem(known: Shapes, item: NestItem): Shape {
  const ready = known.byItem.get(item.copyId);
  if (ready !== undefined) return ready;
  const text = `${item.brimMm} ${item.simplifyMm ?? ''} ${JSON.stringify(item.footprint)}`;
  let shape = known.shapes.get(text);
  if (shape === undefined) {
    const marginMm = known.clearanceMm / 2 + item.brimMm;
    for (const simplifyMm of item.simplifyMm === undefined ? SIMPLIFY_MM : [item.simplifyMm]) {
      shape = shapeOf(item.footprint, { marginMm, wallMm: item.brimMm, simplifyMm, what: item.copyId });
      if (shape.parts.length <= FEW_PARTS) break;
    }
    known.shapes.set(text, shape!);
  }
  known.byItem.set(item.copyId, shape!);
  return shape!;
}

/** The turns that make a difference for a shape. */
export function turnsOf(known: Shapes, shape: Shape, turnsDeg: readonly number[]): readonly number[] {
  const key = `${shape.key} ${turnsDeg.join(',')}`;
  let turns = known.turns.get(key);
  if (turns === undefined) {
    turns = distinctTurns(shape, turnsDeg);
    known.turns.set(key, turns);
  }
  return turns;
}

export function plateOf(known: Shapes, printer: Printer): Container {
  let plate = known.plates.get(printer.id);
  if (plate === undefined) {
    plate = plateContainer(printer.usable, printer.keepOut, known.clearanceMm);
    known.plates.set(printer.id, plate);
  }
  return plate;
}
