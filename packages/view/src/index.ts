export { type LayerView, layersToShow, packLayers, packLayersWithin, unpackLayers } from './layer-bytes.ts';
export { type PackOptions, packShape, trianglesAPiece } from './pack-shape.ts';
export { type Shape, unpackShape } from './unpack-shape.ts';
