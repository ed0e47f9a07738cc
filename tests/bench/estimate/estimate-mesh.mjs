// One part from its file to grams and seconds at a depth, by the recipe that the chain of libraries follows.
import { readFileSync } from 'node:fs';
import { estimatePaths, quickEstimate, rankEstimate } from '@stonehand/estimate';
import { bytesSource, readStl } from '@stonehand/mesh';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';

const polygons = await loadPolygons();

/** What the chain of libraries does: 0.2 mm layers, three perimeters 0.42 mm apart, floors and roofs of one layer, 15 %. */
const SPACING_MM = 0.42;
const RECIPE = {
  id: 'bench',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: SPACING_MM + 0.2 * (1 - Math.PI / 4),
  perimeters: 3,
  roofLayers: 1,
  floorLayers: 1,
  infillShare: 0.15,
  infillPattern: 'lines',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'none',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 0,
};

const KINDS = ['outerPerimeter', 'innerPerimeter', 'solid', 'bridge', 'infill', 'support', 'contact', 'brim', 'travel'];
const every = (value) => Object.fromEntries([...KINDS, 'purge'].map((kind) => [kind, value]));
const PRINTER = {
  id: 'bench',
  speedMmS: every(120),
  accelMmS2: every(3000),
  firstLayerMmS: 120,
  cornerSpeedMmS: 10,
  flowMm3S: 100,
  pullBackS: 0,
  layerChangeS: 0,
  warmUpS: 0,
};
const MATERIAL = { id: 'bench', densityGPerCm3: 1.24, diameterMm: 1.75, flowMm3S: 100 };

export const readMeshFile = (file) => readStl(bytesSource(file, readFileSync(file))).mesh;

export function estimateOf(mesh, depth) {
  const options = { pieceId: 'bench', recipe: RECIPE, printer: PRINTER, material: MATERIAL };
  const estimate = DEPTHS[depth](mesh, options);
  const wallMm = estimate.byKind.reduce((sum, { kind, pathMm }) => sum + (kind.endsWith('Perimeter') ? pathMm : 0), 0);
  return { seconds: estimate.durationS.value, wallMm, cm3: estimate.massG.value / MATERIAL.densityGPerCm3 };
}

const sampled = (estimate) => (mesh, options) => estimate(sliceMesh(mesh, RECIPE), { ...options, polygons });
const DEPTHS = {
  full: (mesh, options) => estimatePaths(beadPaths(sliceMesh(mesh, RECIPE), RECIPE, polygons), options),
  quick: sampled(quickEstimate),
  rank: sampled(rankEstimate),
};
