/** A stream of reproducible numbers. */
export interface Random {
  /** uniform in [0, 1) */
  next(): number;
  /** whole number in 0 .. n − 1 */
  below(n: number): number;
  /** standard normal */
  normal(): number;
}

/**
 * Seeded generator (32-bit state, period 2³²; mulberry32, public domain by its author, from memory). Enough for
 * searches and simulations here, and the same on every machine.
 */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return {
    next,
    below: (n) => Math.floor(next() * n),
    // Box–Muller; 1 − u keeps the logarithm away from 0.
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
  };
}
