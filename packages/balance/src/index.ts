export { type AssemblyInput, assembledMass, type PartMass } from './assembled-mass.ts';
export { type Body, combineBodies, pointBody, transformBody } from './bodies.ts';
export { type Counterweight, counterweight } from './counterweight.ts';
