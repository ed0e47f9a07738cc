import type { Figure } from '@stonehand/model';

/**
 * How far off a first estimate may be, as shares of the value, before anything has been weighed or timed. Stated, not measured: a plain
 * trapezoid model with unknown firmware settings runs short rather than long, and support is where programs differ most.
 * For comparison: ±0.05 mm on the diameter of 1.75 mm filament alone gives +5.8 / −5.6 % (references 3.5); a fitted model
 * on three printers stayed below 8.5 % in time (Medina-Sanchez et al. 2019, abstract).
 */
export const PRIORS = {
  /** plastic that stays in the part */
  mass: { low: 0.08, high: 0.08 },
  /** support and contact layers */
  support: { low: 0.35, high: 0.35 },
  time: { low: 0.15, high: 0.3 },
  /** share of prints expected inside */
  level: 0.8,
} as const;

/**
 * The same beliefs as distributions of real over modelled: a common factor about `middle`, what walls, fill and support add to it (one standard
 * deviation each), and how single prints scatter (about `scatter`, itself unsure by `scatterTimes`).
 */
export type Prior = Readonly<{
  middle: number;
  common: number;
  walls: number;
  fill: number;
  support: number;
  scatter: number;
  scatterTimes: number;
  level: number;
}>;

/**
 * ±8 % and ±35 % as 80 % intervals are standard deviations of 6 and 27 %, most of it common to all prints of a material. Scatter may be a careful
 * scale's or a careless one's, which widens this prior's own interval to ±10 %; until something is weighed the stated ±8 % are shown.
 */
export const MASS_PRIOR: Prior = {
  middle: 1,
  common: 0.04,
  walls: 0.045,
  fill: 0.045,
  support: 0.26,
  scatter: 0.03,
  scatterTimes: 3,
  level: PRIORS.level,
};

/** −15/+30 % is a middle of 1.075 and a standard deviation of 17.6 %. */
export const TIME_PRIOR: Prior = {
  middle: 1.075,
  common: 0.115,
  walls: 0.1,
  fill: 0.1,
  support: 0.12,
  scatter: 0.09,
  scatterTimes: 2.2,
  level: PRIORS.level,
};

/** Both parts off in the same direction: what makes one heavy (filament, flow) makes the other heavy too. */
export function massFigure(partG: number, supportG: number, from: string): Figure {
  return {
    value: partG + supportG,
    low: partG * (1 - PRIORS.mass.low) + supportG * (1 - PRIORS.support.low),
    high: partG * (1 + PRIORS.mass.high) + supportG * (1 + PRIORS.support.high),
    level: PRIORS.level,
    from,
  };
}

export function timeFigure(seconds: number, from: string): Figure {
  const low = seconds * (1 - PRIORS.time.low);
  return { value: seconds, low, high: seconds * (1 + PRIORS.time.high), level: PRIORS.level, from };
}
