export { bodiesOf } from './bodies.ts';
export { boreDowels } from './bore-dowels.ts';
export { chooseJoints, type JointOptions } from './choose-joints.ts';
export { type CutOptions, type CutPiece, cutMesh } from './cut-mesh.ts';
export type { Bed } from './fits.ts';
export { planSplit, type SplitOptions, type SplitPlan } from './plan-split.ts';
export type { Plane } from './plane.ts';
export { type CutSection, sectionOf } from './section.ts';
