export { type EstimateFor, estimatePaths, filamentLengthMm, flowSpeedMmS } from './estimate-paths.ts';
export { type Motion, moveSeconds, pathSeconds } from './path-seconds.ts';
export { hopSeconds, type PlateOfCopies, plateSeconds } from './plate-seconds.ts';
export { PRIORS } from './priors.ts';
