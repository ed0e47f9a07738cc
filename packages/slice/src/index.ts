export {
  type BeadPathOptions,
  beadPaths,
  type LayerFill,
  type LayerStack,
  layerFills,
  layerStack,
  pathsOfStack,
} from './bead-paths.ts';
export { BEAD_KINDS, beadAreaMm2, beadSpacingMm, beadWidthMm } from './bead-section.ts';
export { type Cavity, type CavityOptions, cavityOf, hollowedLoops } from './cavity.ts';
export type { ClipperOptions } from './clipper-module.ts';
export { type FootprintOptions, footprint } from './footprint.ts';
export { insets } from './insets.ts';
export { layerRegions } from './layer-regions.ts';
export { layerAreaMm2, layerPerimeterMm, loopArea, loopLength } from './loop-measures.ts';
export { loadPolygons, type OffsetOptions, type Polygons } from './polygons.ts';
export { listOfRings, type Rings, ringsAreaMm2, ringsOf } from './rings.ts';
export { infillGapMm, type RoofSpan, roofSpan } from './roof-span.ts';
export { type LayerSamples, sampleLayers } from './sample-layers.ts';
export { type SliceOptions, sectionsAt, sliceMesh } from './slice-mesh.ts';
export { type SupportSlab, supportSlabs } from './support-slabs.ts';
