export { type AssemblyInput, assembledMass } from './assembled-mass.ts';
export { type Ballasted, ballast, type Move, type Weight } from './ballast.ts';
export { type Body, combineBodies, inertiaAbout, lineBody, pointBody, transformBody } from './bodies.ts';
export { type Counterweight, counterweight } from './counterweight.ts';
export {
  allHold,
  type Change,
  type CurvePoint,
  type Lightened,
  type LightenInput,
  type LightenOptions,
  lighten,
  type PartChoice,
} from './lighten.ts';
export { loadSolver, type Solver } from './load-solver.ts';
export type { CopyMass, PartMass, Skin } from './part-mass.ts';
export { stiffnessIndex } from './stiffness.ts';
