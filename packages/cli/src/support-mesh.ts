import type { Mesh, Recipe } from '@stonehand/model';
import { prismsMesh, type Slab } from '@stonehand/report';
import { layerStack, listOfRings, loadPolygons, ringsAreaMm2, sliceMesh } from '@stonehand/slice';

/** The support that a posed piece is reckoned with, as a solid: columns and contact layers, layers that repeat as one prism. */
export async function supportMesh(mesh: Mesh, recipe: Recipe): Promise<Mesh> {
  if (recipe.support === 'none') return prismsMesh([]);
  const polygons = await loadPolygons();
  const loops = sliceMesh(mesh, recipe);
  const { support = [] } = layerStack(loops, recipe, polygons);
  const slabs: Slab[] = [];
  let below: (typeof support)[number] | undefined;
  support.forEach((layer, i) => {
    const fromMm = i === 0 ? loops.bottomMm : loops.topMm[i - 1]!;
    const toMm = loops.topMm[i]!;
    const last = slabs.at(-1);
    const repeats = layer.columns === below?.columns && layer.contact === below.contact;
    below = layer;
    if (repeats && last !== undefined && last.toMm === fromMm) {
      slabs[slabs.length - 1] = { ...last, toMm };
      return;
    }
    const areas = [layer.columns, layer.contact].filter((rings) => ringsAreaMm2(rings) > 0);
    // Contact layers and the columns beside them never overlap, so both are prisms of their own.
    const rings = areas.flatMap((area) => listOfRings(area));
    if (rings.length > 0) slabs.push({ rings, fromMm, toMm });
  });
  return prismsMesh(slabs);
}
