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
    regions.push(polygons.clean(next) ? next : polygons.union(next));
  }
  return regions;
}

/** Height of layer i. */
export function layerHeightMm(loops: Pick<LayerLoops, 'bottomMm' | 'topMm'>, layer: number): number {
  return loops.topMm[layer] - (layer === 0 ? loops.bottomMm : loops.topMm[layer - 1]);
}
