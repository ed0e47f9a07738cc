export {
  type Calibration,
  calibrate,
  type Factor,
  factorOf,
  groupFactors,
  type Observation,
  type Shares,
} from './calibrate.ts';
export { calibrated, type Learnt, sharesOf } from './calibrated.ts';
export { DEPTH_BOUNDS, type SampledDepth } from './depths.ts';
export { type EstimateFor, estimatePaths, filamentLengthMm, flowSpeedMmS } from './estimate-paths.ts';
export { type HollowOptions, hollowOffer, hollowSaving } from './hollow.ts';
export { machineFindings } from './machine-findings.ts';
export { type Motion, moveSeconds, pathSeconds } from './path-seconds.ts';
export { pathSpeeds } from './path-speeds.ts';
export { type PieceFor, pieceFindings } from './piece-findings.ts';
export { plateSaving } from './plate-saving.ts';
export { hopSeconds, type PlateOfCopies, plateSeconds } from './plate-seconds.ts';
export { MASS_PRIOR, PRIORS, type Prior, TIME_PRIOR } from './priors.ts';
export { quickEstimate, type SampledFor } from './quick-estimate.ts';
export { rankEstimate } from './rank-estimate.ts';
export { type TrialPrint, type TrialPrintId, trialPrints } from './trial-prints.ts';
export { weldFindings } from './weld-findings.ts';
export { otherLayerMm, type WhatIfOptions, whatIfRows } from './what-if.ts';
