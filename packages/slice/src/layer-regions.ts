import type { LayerLoops } from '@stonehand/model';
import type { Polygons } from './polygons.ts';
import { type Rings, sameRings } from './rings.ts';
import { simplifiedLayer } from './simplify-loops.ts';

/** Outlines that differ by less are the same outline seen through other triangles. */
export const SAME_MM = 0.002;

/**
 * The clean region of every layer, simplified. A layer that repeats the one below is the same object, so that everything
 * computed from it can be shared: upright walls are the usual case.
 */
export function layerRegions(loops: LayerLoops, polygons: Polygons): Rings[] {
  const regions: Rings[] = [];
  let raw: Rings | undefined;
  for (let i = 0; i < loops.zMm.length; i++) {
    const next = simplifiedLayer(loops, i);
    if (raw !== undefined && sameRings(raw, next, SAME_MM)) {
      regions.push(regions[i - 1]);
      continue;
    }
    raw = next;
    regions.push(cleanRegion(next, polygons));
  }
  return regions;
}

/** The region of one layer, for those who need few of them. */
export function layerRegion(loops: LayerLoops, layer: number, polygons: Polygons): Rings {
  return cleanRegion(simplifiedLayer(loops, layer), polygons);
}

const cleanRegion = (rings: Rings, polygons: Polygons): Rings =>
  polygons.clean(rings) ? rings : polygons.union(rings);

/** Height of layer i. */
export function layerHeightMm(loops: Pick<LayerLoops, 'bottomMm' | 'topMm'>, layer: number): number {
  return loops.topMm[layer] - (layer === 0 ? loops.bottomMm : loops.topMm[layer - 1]);
}
