import type { LayerLoops } from '@stonehand/model';
import { layerAreaMm2, layerPerimeterMm } from './loop-measures.ts';
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

/**
 * The same with layers that hardly differ taken together: as long as the number of loops stays and area and outline change by at
 * most the share `spare`, the middle one stands for all (the first would lag behind on every slope).
 */
export function sparedRegions(loops: LayerLoops, regions: readonly Rings[], spare: number): readonly Rings[] {
  if (spare <= 0) return regions;
  const spared = regions.slice();
  let from = 0;
  for (let i = 1; i <= regions.length; i++) {
    if (i < regions.length && alike(loops, from, i, spare)) continue;
    const middle = regions[(from + i - 1) >> 1];
    for (let k = from; k < i; k++) spared[k] = middle;
    from = i;
  }
  return spared;
}

function alike(loops: LayerLoops, a: number, b: number, share: number): boolean {
  if (loops.layerStart[a + 1] - loops.layerStart[a] !== loops.layerStart[b + 1] - loops.layerStart[b]) return false;
  const near = (p: number, q: number): boolean => Math.abs(p - q) <= share * Math.abs(p);
  return (
    near(layerAreaMm2(loops, a), layerAreaMm2(loops, b)) && near(layerPerimeterMm(loops, a), layerPerimeterMm(loops, b))
  );
}

/** Height of layer i. */
export function layerHeightMm(loops: Pick<LayerLoops, 'bottomMm' | 'topMm'>, layer: number): number {
  return loops.topMm[layer] - (layer === 0 ? loops.bottomMm : loops.topMm[layer - 1]);
}
