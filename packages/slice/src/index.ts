export { BEAD_KINDS, beadAreaMm2, beadSpacingMm, beadWidthMm } from './bead-section.ts';
export { layerAreaMm2, layerPerimeterMm, loopArea, loopLength } from './loop-measures.ts';
export { type SliceOptions, sectionsAt, sliceMesh } from './slice-mesh.ts';
