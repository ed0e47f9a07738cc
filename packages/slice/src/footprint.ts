import type { LayerLoops, Mesh, Ring } from '@stonehand/model';
import type { Polygons } from './polygons.ts';
import { listOfRings, NO_RINGS, type Rings, ringCount } from './rings.ts';
import { simplifiedLayer } from './simplify-loops.ts';
import { sliceMesh } from './slice-mesh.ts';

export type FootprintOptions = Readonly<{
  /** height of the slices that a mesh is cut into for its shadow */
  stepMm?: number;
  /** points closer than this to the line between their neighbours are left out */
  toleranceMm?: number;
}>;

/**
 * Outline of a posed mesh's shadow on the build plate: the union of its layers, simplified. Outer rings counter-clockwise,
 * holes (places with nothing above them) clockwise. Layers already covered cost one containment test.
 */
export function footprint(
  shape: LayerLoops | Mesh,
  polygons: Polygons,
  { stepMm = 0.5, toleranceMm = 0.02 }: FootprintOptions = {},
): Ring[] {
  const loops = 'triangles' in shape ? sliceMesh(shape, { layerMm: stepMm, firstLayerMm: stepMm }) : shape;
  let shadow: Rings = NO_RINGS;
  for (let i = 0; i < loops.zMm.length; i++) {
    const layer = simplifiedLayer(loops, i, toleranceMm);
    if (ringCount(layer) === 0 || polygons.covers(shadow, layer)) continue;
    shadow = polygons.union(shadow, layer);
  }
  polygons.free();
  return listOfRings(shadow);
}
