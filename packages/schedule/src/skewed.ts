import type { Figure } from '@stonehand/model';

/** Standard normal quantiles of the levels that figures carry; 1.2815516 for 80 % between low and high (tables of the normal distribution). */
const Z_OF_LEVEL: readonly (readonly [level: number, z: number])[] = [
  [0.5, 0.6744898],
  [0.8, 1.2815516],
  [0.9, 1.6448536],
  [0.95, 1.959964],
];

/**
 * A figure as a skewed distribution: the value is its median, and its interval is met at both ends, by a lognormal with one width
 * below and another above (times are rarely much shorter, often much longer). `z` is a standard normal number.
 */
export function skewed({ value, low = value, high = value, level = 0.8 }: Figure, z: number): number {
  if (!(value > 0)) return value;
  const end = z < 0 ? low : high;
  if (!(end > 0)) return Math.max(0, value + (z / zOf(level)) * (value - end));
  return value * Math.exp((Math.abs(z) / zOf(level)) * Math.log(end / value));
}

function zOf(level: number): number {
  let nearest = Z_OF_LEVEL[0]!;
  for (const row of Z_OF_LEVEL) if (Math.abs(row[0] - level) < Math.abs(nearest[0] - level)) nearest = row;
  return nearest[1];
}

/**
 * Part of an estimate's error that all runs of a plan share (the same recipe and printer model are off for all), as a share of
 * the variance. A half is our assumption, no source, until the ledger says more.
 */
export const COMMON_SHARE = 0.5;

/** One normal number made of a shared and an own part; itself standard normal. */
export function mixedNormal(common: number, own: number, commonShare: number): number {
  return Math.sqrt(commonShare) * common + Math.sqrt(1 - commonShare) * own;
}

/** Smallest value that at least the share q of the values does not exceed; sorts nothing. */
export function quantile(sorted: ArrayLike<number>, q: number): number {
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.ceil(q * sorted.length - 1e-9) - 1))]!;
}
