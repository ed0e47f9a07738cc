export { checkJoints, type JointCheck, type JointOptions } from './check-joints.ts';
export { type CompareOptions, compareShapes, type ShapeComparison } from './compare-shapes.ts';
export { type Bore, type BoreOptions, findBores } from './find-bores.ts';
export { type OutsideSkin, outsideSkin, type SkinOptions } from './outside-skin.ts';
export { shapeKey } from './shape-key.ts';
export { type SurfaceDistance, surfaceDistance } from './surface-distance.ts';
