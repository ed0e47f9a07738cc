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
export { type EstimateFor, estimatePaths, filamentLengthMm, flowSpeedMmS } from './estimate-paths.ts';
export { type HollowOffer, type HollowOptions, type HollowPrint, hollowOffer } from './hollow.ts';
export { type Motion, moveSeconds, pathSeconds } from './path-seconds.ts';
export { pathSpeeds } from './path-speeds.ts';
export { hopSeconds, type PlateOfCopies, plateSeconds } from './plate-seconds.ts';
export { MASS_PRIOR, PRIORS, type Prior, TIME_PRIOR } from './priors.ts';
export { otherLayerMm, type WhatIfOptions, type WhatIfRow, whatIfRows } from './what-if.ts';
