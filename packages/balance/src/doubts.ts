import type { Figure, Vec3 } from '@stonehand/model';
import { normalQuantile } from './normal.ts';

/**
 * One mass that is known to an interval, and where it sits. Doubts of one key err together. Those that are not `own` come from
 * one estimate and one calibration; `own` ones (a scale, a coat of paint) have nothing to do with each other.
 */
export type Doubt = Readonly<{ key: string; own: boolean; massG: Figure; centreMm: Vec3 }>;

/** Figures state their interval at this level unless they say otherwise. */
export const LEVEL = 0.8;

/** Half-widths of a figure at LEVEL, below and above its value; 0 where it has no interval. Normal tails between levels. */
export function halfWidths(figure: Figure): { below: number; above: number } {
  const level = figure.level ?? LEVEL;
  const scale = level === LEVEL ? 1 : spread(LEVEL) / spread(level);
  return {
    below: scale * Math.max(0, figure.value - (figure.low ?? figure.value)),
    above: scale * Math.max(0, (figure.high ?? figure.value) - figure.value),
  };
}

/** Standard deviations from the middle to the end of an interval that holds `level`. */
export function spread(level: number): number {
  return normalQuantile((1 + level) / 2);
}

/**
 * Sum of copies and exact grams. The ends of estimates add, as if all erred to the same side; errors of their own add as
 * squares.
 */
export function massFigure(doubts: readonly Doubt[], exactG: number, printedCopies: number): Figure {
  let value = exactG;
  const common = { below: 0, above: 0 };
  const own = new Map<string, { below: number; above: number }>();
  for (const { key, own: alone, massG } of doubts) {
    const half = halfWidths(massG);
    value += massG.value;
    const sum = alone ? (own.get(key) ?? { below: 0, above: 0 }) : common;
    sum.below += half.below;
    sum.above += half.above;
    if (alone) own.set(key, sum);
  }
  const squares = (side: 'below' | 'above'): number => [...own.values()].reduce((sum, w) => sum + w[side] ** 2, 0);
  const below = Math.sqrt(common.below ** 2 + squares('below'));
  const above = Math.sqrt(common.above ** 2 + squares('above'));
  const copies = printedCopies === 1 ? '1 printed copy' : `${printedCopies} printed copies`;
  const from = exactG === 0 ? copies : `${copies} and the bought items`;
  return below + above === 0 ? { value, from } : { value, low: value - below, high: value + above, level: LEVEL, from };
}

/**
 * How far a figure may be off at LEVEL when each doubt moves it by `shift(doubt)` for a gram more of it: the larger of two
 * assumptions about estimates, that every part errs on its own and that all err to the same side; what errs alone is added as
 * squares. See DECISIONS.md.
 */
export function halfWidthOf(doubts: readonly Doubt[], shift: (doubt: Doubt) => number): number {
  const moves = new Map<string, number>();
  const alone = new Set<string>();
  for (const doubt of doubts) {
    const { below, above } = halfWidths(doubt.massG);
    moves.set(doubt.key, (moves.get(doubt.key) ?? 0) + ((below + above) / 2) * shift(doubt));
    if (doubt.own) alone.add(doubt.key);
  }
  let together = 0;
  let squares = 0;
  let own = 0;
  for (const [key, move] of moves) {
    if (alone.has(key)) {
      own += move ** 2;
      continue;
    }
    together += move;
    squares += move ** 2;
  }
  return Math.sqrt(Math.max(together ** 2, squares) + own);
}
