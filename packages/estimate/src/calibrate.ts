import type { Prior } from './priors.ts';

/**
 * What a figure is made of, as shares of it: perimeters; floors, roofs, bridges and infill; support, contact layers and brim. The rest
 * (travel, layer changes, warm-up) follows the common factor alone.
 */
export type Shares = Readonly<{ walls: number; fill: number; support: number }>;

/** One print: what really came out over what the model said. */
export type Observation = Readonly<{
  ratio: number;
  shares: Shares;
  /** how far off the source itself may be, as a share (one standard deviation): 0 for a scale or a clock */
  spread?: number;
}>;

/** A factor with the interval that a next print of such shares should fall into. */
export type Factor = Readonly<{ value: number; low: number; high: number; level: number }>;

/** What the record taught about one quantity of one printer or material. */
export type Calibration = Readonly<{
  prior: Prior;
  records: number;
  /** one for each assumed scatter of single prints, with its probability */
  nodes: readonly CalibrationNode[];
}>;

type CalibrationNode = Readonly<{
  weight: number;
  scatter: number;
  /** common factor, then what walls, fill and support add to it */
  mean: readonly number[];
  covariance: readonly (readonly number[])[];
}>;

/** Scatters that are tried, from a careful weighing to a different answer every time. */
const SCATTERS = Array.from({ length: 15 }, (_, i) => 0.008 * 1.31 ** i);
/** One print in twenty may be something else altogether: a typing error, a clogged nozzle, a changed recipe (no source). */
const OUTLIER_SHARE = 0.05;
const OUTLIER_TIMES = 6;
const ROUNDS = 40;
/** A factor that moves by less than this is settled. */
const SETTLED = 1e-7;
const TERMS = 4;

/**
 * Bayesian regression of ratios on shares: ratio = common + walls·w + fill·f + support·s + scatter, with normal priors on the
 * four terms, scatter that is mostly normal and now and then OUTLIER_TIMES as wide (found by expectation-maximisation), and
 * its size averaged over SCATTERS by their evidence (Laplace's approximation). Without observations the prior comes back.
 * Sources: Gelman and others, Bayesian Data Analysis, chapters on regression and on mixtures (from memory).
 */
export function calibrate(observations: readonly Observation[], prior: Prior): Calibration {
  const rows = observations.map(({ shares }) => rowOf(shares));
  const fits = SCATTERS.map((scatter) => fit(observations, rows, scatter, prior));
  const best = Math.max(...fits.map(({ logEvidence }) => logEvidence));
  const weights = fits.map(({ logEvidence }) => Math.exp(logEvidence - best));
  const sum = weights.reduce((a, b) => a + b, 0);
  return {
    prior,
    records: observations.length,
    nodes: fits.map(({ scatter, mean, covariance }, i) => ({ weight: weights[i] / sum, scatter, mean, covariance })),
  };
}

/** The factor of a print with these shares, and the interval for one print. */
export function factorOf({ nodes, prior }: Calibration, shares: Shares): Factor {
  const row = rowOf(shares);
  const parts = nodes.flatMap(({ weight, scatter, mean, covariance }) => {
    const middle = dot(row, mean);
    const variance = dot(row, product(covariance, row)) + scatter * scatter;
    const wide = variance + (OUTLIER_TIMES ** 2 - 1) * scatter * scatter;
    return [
      { weight: weight * (1 - OUTLIER_SHARE), middle, sd: Math.sqrt(variance) },
      { weight: weight * OUTLIER_SHARE, middle, sd: Math.sqrt(wide) },
    ];
  });
  const tail = (1 - prior.level) / 2;
  return {
    value: quantile(parts, 0.5),
    low: quantile(parts, tail),
    high: quantile(parts, 1 - tail),
    level: prior.level,
  };
}

/** The factor of each group by itself: common term plus the group's own. */
export function groupFactors(calibration: Calibration): Readonly<{ common: number } & Shares> {
  const mean = [0, 1, 2, 3].map((k) => calibration.nodes.reduce((sum, node) => sum + node.weight * node.mean[k], 0));
  return { common: mean[0], walls: mean[0] + mean[1], fill: mean[0] + mean[2], support: mean[0] + mean[3] };
}

const rowOf = ({ walls, fill, support }: Shares): number[] => [1, walls, fill, support];

function fit(
  observations: readonly Observation[],
  rows: readonly number[][],
  scatter: number,
  prior: Prior,
): CalibrationNode & { readonly logEvidence: number } {
  const priorVariance = [prior.common, prior.walls, prior.fill, prior.support].map((sd) => sd * sd);
  const priorMean = [prior.middle, 0, 0, 0];
  let mean: number[] = priorMean;
  let covariance = priorVariance.map((v, i) => priorVariance.map((_, j) => (i === j ? v : 0)));
  let logDeterminant = priorVariance.reduce((sum, v) => sum + Math.log(v), 0);
  const logPrior0 = logDeterminant;
  for (let round = 0; round < ROUNDS && observations.length > 0; round++) {
    const precision = priorVariance.map((v, i) => priorVariance.map((_, j) => (i === j ? 1 / v : 0)));
    const right = priorMean.map((m, i) => m / priorVariance[i]);
    observations.forEach((observation, j) => {
      const weight = weightOf(observation, rows[j], mean, scatter);
      for (let a = 0; a < TERMS; a++) {
        right[a] += weight * rows[j][a] * observation.ratio;
        for (let b = 0; b < TERMS; b++) precision[a][b] += weight * rows[j][a] * rows[j][b];
      }
    });
    const solved = inverse(precision);
    covariance = solved.inverse;
    logDeterminant = -solved.logDeterminant;
    const next = product(covariance, right);
    const moved = next.reduce((most, value, k) => Math.max(most, Math.abs(value - mean[k])), 0);
    mean = next;
    if (moved < SETTLED) break;
  }
  let logEvidence = logScatter(scatter, prior);
  observations.forEach((observation, j) => {
    logEvidence += logDensity(observation, rows[j], mean, scatter);
  });
  for (let a = 0; a < TERMS; a++) logEvidence -= (mean[a] - priorMean[a]) ** 2 / (2 * priorVariance[a]);
  logEvidence += (logDeterminant - logPrior0) / 2;
  return { weight: 1, scatter, mean, covariance, logEvidence };
}

/** Precision of an observation: that of its scatter, less as far as it looks like something else. */
function weightOf(
  { ratio, spread = 0 }: Observation,
  row: readonly number[],
  mean: readonly number[],
  s: number,
): number {
  const residual = ratio - dot(row, mean);
  const [usual, odd] = variancesOf(s, spread);
  const usualDensity = ((1 - OUTLIER_SHARE) * Math.exp(-(residual ** 2) / (2 * usual))) / Math.sqrt(usual);
  const oddDensity = (OUTLIER_SHARE * Math.exp(-(residual ** 2) / (2 * odd))) / Math.sqrt(odd);
  const p = usualDensity + oddDensity > 0 ? oddDensity / (usualDensity + oddDensity) : 1;
  return (1 - p) / usual + p / odd;
}

function logDensity(
  { ratio, spread = 0 }: Observation,
  row: readonly number[],
  mean: readonly number[],
  s: number,
): number {
  const residual = ratio - dot(row, mean);
  const logs = variancesOf(s, spread).map(
    (v, i) => Math.log(i === 0 ? 1 - OUTLIER_SHARE : OUTLIER_SHARE) - residual ** 2 / (2 * v) - Math.log(v) / 2,
  );
  const most = Math.max(...logs);
  return most + Math.log(logs.reduce((sum, log) => sum + Math.exp(log - most), 0));
}

const variancesOf = (scatter: number, spread: number): [number, number] => [
  scatter ** 2 + spread ** 2,
  (OUTLIER_TIMES * scatter) ** 2 + spread ** 2,
];

/** Log-normal prior of the scatter, on nodes that are evenly spaced in its logarithm. */
function logScatter(scatter: number, { scatter: middle, scatterTimes }: Prior): number {
  return -((Math.log(scatter / middle) / Math.log(scatterTimes)) ** 2) / 2;
}

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, v, i) => sum + v * b[i], 0);
const product = (m: readonly (readonly number[])[], v: readonly number[]): number[] => m.map((row) => dot(row, v));

/** Inverse of a symmetric positive definite matrix by Gauss and Jordan, and the logarithm of its determinant. */
function inverse(matrix: readonly (readonly number[])[]): { inverse: number[][]; logDeterminant: number } {
  const n = matrix.length;
  const a = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  let logDeterminant = 0;
  for (let k = 0; k < n; k++) {
    const pivot = a[k][k];
    logDeterminant += Math.log(pivot);
    for (let j = 0; j < 2 * n; j++) a[k][j] /= pivot;
    for (let i = 0; i < n; i++) {
      if (i === k) continue;
      const times = a[i][k];
      for (let j = 0; j < 2 * n; j++) a[i][j] -= times * a[k][j];
    }
  }
  return { inverse: a.map((row) => row.slice(n)), logDeterminant };
}

type NormalPart = Readonly<{ weight: number; middle: number; sd: number }>;

/** Where a mixture of normal distributions has this share below, by bisection. */
function quantile(parts: readonly NormalPart[], share: number): number {
  let low = Math.min(...parts.map(({ middle, sd }) => middle - 8 * sd));
  let high = Math.max(...parts.map(({ middle, sd }) => middle + 8 * sd));
  for (let i = 0; i < 60; i++) {
    const at = (low + high) / 2;
    const below = parts.reduce((sum, { weight, middle, sd }) => sum + weight * normalShare((at - middle) / sd), 0);
    if (below < share) low = at;
    else high = at;
  }
  return (low + high) / 2;
}

/** Share of the normal distribution below z; error below 1.5e-7 (Abramowitz and Stegun 7.1.26, from memory). */
function normalShare(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const erf = 1 - poly * Math.exp(-x * x);
  return z >= 0 ? (1 + erf) / 2 : (1 - erf) / 2;
}
