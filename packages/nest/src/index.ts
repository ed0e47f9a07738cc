export type { Arrangement } from './arrange.ts';
export { EVALUATIONS_PER_ROUND } from './budget.ts';
export type { KeptPlate } from './kept-plates.ts';
export { DEFAULT_TURNS_DEG, type NestItem } from './nest-item.ts';
export { type BinsResult, packBins } from './pack-bins.ts';
export { CLEARANCE_MM, PLATE_ROUNDS, type PlateOptions, packPlate } from './pack-plate.ts';
export {
  HANDLING_S,
  type PlatesAim,
  type PlatesOptions,
  type PlatesResult,
  packPlates,
} from './pack-plates.ts';
export { type NestOptions, type NestPlace, type NestProblem, packStrip, type StripResult } from './pack-strip.ts';
export type { PlateDraft } from './plate-draft.ts';
export { plateName } from './plate-name.ts';
export { type RunCost, type RunRisk, runCost } from './run-cost.ts';
export { type Shape, type ShapeOptions, shapeOf } from './shape.ts';
