import type { Figure, Vec3 } from '@stonehand/model';
import { normalQuantile } from './normal.ts';

/** One copy whose mass is known to an interval, and where it sits. */
export type Doubt = Readonly<{ partId: string; massG: Figure; centreMm: Vec3 }>;

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

/** Sum of copies and exact grams; the ends add, as if all estimates erred to the same side. */
export function massFigure(doubts: readonly Doubt[], exactG: number): Figure {
  let value = exactG;
  let below = 0;
  let above = 0;
  for (const { massG } of doubts) {
    const half = halfWidths(massG);
    value += massG.value;
    below += half.below;
    above += half.above;
  }
  const copies = doubts.length === 1 ? '1 printed copy' : `${doubts.length} printed copies`;
  const from = exactG === 0 ? copies : `${copies} and the bought items`;
  return below + above === 0 ? { value, from } : { value, low: value - below, high: value + above, level: LEVEL, from };
}

/**
 * How far the centre may be off along each axis at LEVEL: the larger of two assumptions, that every part errs on its own
 * and that all err to the same side. A copy δ grams heavier moves the centre by δ·(its place − centre)/mass; copies of one
 * part err together.
 */
export function centreHalfWidth(doubts: readonly Doubt[], massG: number, centreMm: Vec3): Vec3 {
  const byPart = new Map<string, [number, number, number]>();
  for (const { partId, massG: figure, centreMm: at } of doubts) {
    const { below, above } = halfWidths(figure);
    const moved = byPart.get(partId) ?? [0, 0, 0];
    for (let k = 0; k < 3; k++) moved[k] += (((below + above) / 2) * (at[k] - centreMm[k])) / massG;
    byPart.set(partId, moved);
  }
  const together = [0, 0, 0];
  const squares = [0, 0, 0];
  for (const moved of byPart.values()) {
    for (let k = 0; k < 3; k++) {
      together[k] += moved[k];
      squares[k] += moved[k] ** 2;
    }
  }
  const half = (k: number): number => Math.max(Math.abs(together[k]), Math.sqrt(squares[k]));
  return [half(0), half(1), half(2)];
}
