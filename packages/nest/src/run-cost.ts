/** How likely a run fails: a start, an hour of printing, one piece coming loose. */
export type RunRisk = Readonly<{ failPerStart: number; failPerHour: number; failPerPiece?: number }>;

/** What a plate costs once what fails is printed again. */
export type RunCost = Readonly<{
  /** chance that the run as a whole fails */
  failChance: number;
  /** hands-on time and printing until it has succeeded, seconds */
  expectedS: number;
  /** grams laid down until it has succeeded */
  expectedG: number;
}>;

// Small pieces that come loose and take their neighbours along: "common practice, no source".
const FAIL_PER_PIECE = 0.002;

/**
 * A start that fails is seen while the first layer is watched and costs the hands-on time. Later one failure
 * anywhere spoils the plate and is found at its end (practice of owners: at 1 am it fails, at 8 it is found). Either way the same
 * plate is started again: tries are geometric, so what one try costs is divided by its chance of success.
 * @param run startS: hands-on time of one start; durationS: the run with its warming up
 */
export function runCost(
  run: Readonly<{ durationS: number; massG: number; copies: number; startS: number }>,
  { failPerStart, failPerHour, failPerPiece = FAIL_PER_PIECE }: RunRisk,
): RunCost {
  const starts = 1 - failPerStart;
  const lasts = Math.exp((-failPerHour * run.durationS) / 3600) * (1 - failPerPiece) ** run.copies;
  return {
    failChance: 1 - starts * lasts,
    expectedS: run.startS / (starts * lasts) + run.durationS / lasts,
    expectedG: run.massG / lasts,
  };
}
