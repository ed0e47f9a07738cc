export { boundingBox } from './bounding-box.ts';
export { type ByteSource, bytesSource } from './byte-source.ts';
export { type EdgePairing, halfEdgeTwins } from './half-edges.ts';
export { type MassProperties, massProperties } from './mass-properties.ts';
export type { MeshFile } from './mesh-file.ts';
export { readStl } from './read-stl.ts';
export { type Topology, topology } from './topology.ts';
export { unitToMm } from './unit-to-mm.ts';
export { weld } from './weld.ts';
