/** Standard normal distribution: share below z. */
export function normalShare(z: number): number {
  // Abramowitz & Stegun 7.1.26 (from memory), error below 1.5e-7; the tests compare it with tabled values.
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const tail = 0.5 * poly * Math.exp(-x * x);
  return z >= 0 ? 1 - tail : tail;
}

/** The z below which the given share lies, by bisection: called a few times per report. */
export function normalQuantile(share: number): number {
  let low = -8;
  let high = 8;
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2;
    if (normalShare(mid) < share) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}
