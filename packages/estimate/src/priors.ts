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
