export { candidatePoses, type PoseRule, type PoseSearchOptions } from './candidate-poses.ts';
export { type ConvexHull, convexHull } from './convex-hull.ts';
export { type FitOptions, fitHull, type HullFit } from './fit-hull.ts';
export { fitVerdict, type PosedHull } from './fit-verdict.ts';
export { hull2 } from './hull2.ts';
export { overhangAreaMm2 } from './overhang-area.ts';
export { POSE_WEIGHTS, poseCost } from './pose-cost.ts';
export { type PoseOptions, poseMesh, poseOf, shadowHull } from './pose-of.ts';
export { type SupportNeed, type SupportOptions, supportNeed } from './support-need.ts';
