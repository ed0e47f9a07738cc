export { checkJoints, type JointCheck, type JointOptions } from './check-joints.ts';
export { type CompareOptions, compareShapes, type ShapeComparison } from './compare-shapes.ts';
export { type Bore, type BoreOptions, findBores } from './find-bores.ts';
export { type FitJudgement, featureFor, judgeFit, type Printing, TYPICAL_ALLOWANCE } from './judge-fit.ts';
export { magnetsNear, type PlacedItem, type Pull } from './magnets-near.ts';
export { type OutsideSkin, outsideSkin, type SkinOptions } from './outside-skin.ts';
export { shapeKey } from './shape-key.ts';
export { type StackUp, stackUp } from './stack-up.ts';
export { type SurfaceDistance, surfaceDistance } from './surface-distance.ts';
