import type { BeadKind, LayerPaths, Mesh, Recipe } from '@stonehand/model';
import { BEAD_KINDS, type BeadPathOptions, beadAreaMm2, beadPaths, type Polygons, sliceMesh } from '@stonehand/slice';

/** The recipe of check values F6: 0.2 mm layers, beads of 0.45 mm, four solid layers each way. */
export function recipeOf(changes: Partial<Recipe> = {}): Recipe {
  return {
    id: 'test',
    layerMm: 0.2,
    firstLayerMm: 0.2,
    beadWidthMm: 0.45,
    perimeters: 2,
    roofLayers: 4,
    floorLayers: 4,
    infillShare: 0.15,
    infillPattern: 'lines',
    overhangFromVerticalDeg: 45,
    bridgeMm: 10,
    support: 'none',
    supportShare: 0.15,
    brimMm: 0,
    leastLayerS: 0,
    ...changes,
  };
}

export function pathsOf(mesh: Mesh, recipe: Recipe, polygons: Polygons, options: BeadPathOptions = {}): LayerPaths {
  return beadPaths(sliceMesh(mesh, recipe), recipe, polygons, options);
}

export function heightOf(paths: LayerPaths, layer: number): number {
  return paths.topMm[layer] - (layer === 0 ? paths.bottomMm : paths.topMm[layer - 1]);
}

export function pathLength(paths: LayerPaths, p: number): number {
  const xy = paths.xyMm;
  const from = paths.pathStart[p];
  const to = paths.pathStart[p + 1];
  let sum = 0;
  for (let i = from + 1; i < to; i++) sum += Math.hypot(xy[2 * i] - xy[2 * i - 2], xy[2 * i + 1] - xy[2 * i - 1]);
  if (paths.closed[p]) sum += Math.hypot(xy[2 * from] - xy[2 * to - 2], xy[2 * from + 1] - xy[2 * to - 1]);
  return sum;
}

/** mm³ by kind over layers from … to − 1. */
export function volumes(paths: LayerPaths, from = 0, to: number = paths.topMm.length): Record<BeadKind, number> {
  const sums = Object.fromEntries(BEAD_KINDS.map((kind) => [kind, 0])) as Record<BeadKind, number>;
  for (let i = from; i < to; i++) {
    for (let p = paths.layerStart[i]; p < paths.layerStart[i + 1]; p++) {
      sums[BEAD_KINDS[paths.kind[p]]] += pathLength(paths, p) * beadAreaMm2(paths.widthMm[p], heightOf(paths, i));
    }
  }
  return sums;
}

export function total(sums: Record<BeadKind, number>): number {
  return BEAD_KINDS.reduce((sum, kind) => sum + (kind === 'travel' ? 0 : sums[kind]), 0);
}
