import type { LayerLoops, LayerPaths, Recipe } from '@stonehand/model';
import {
  type BeadPathOptions,
  beadSizeOf,
  CONTACT_SHARE,
  firstLayerBrim,
  islandsWithPerimeters,
  type LayerFill,
  type LayerStack,
  layerStack,
  writeIslands,
  writeSupport,
} from './bead-paths.ts';
import { beadLengthMm } from './beads.ts';
import { gyroidPeriodMm, infillBeads } from './fill-beads.ts';
import { gyroidShare } from './gyroid.ts';
import { hangFinder } from './hangs.ts';
import { layerRegion, SAME_MM } from './layer-regions.ts';
import { type Nozzle, writeBeads } from './order-beads.ts';
import { outlineMoves } from './outline-moves.ts';
import { PathWriter } from './path-writer.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, type Rings, ringCount, ringsAreaMm2, sameRings } from './rings.ts';
import { fillingOf } from './solid-regions.ts';

/** Layers of a piece that are worked out only when asked for. */
export type LayerSamples = Readonly<{
  /**
   * The beads of the part in one layer, without support, as layer 1 over an empty layer 0; the piece's first layer stands alone. The same as in
   * beadPaths but for the way from the layer before.
   */
  pathsOf(layer: number): LayerPaths;
  /** Length of the infill that this layer would have inside the sparse area of another one that has been worked out. */
  infillMm(layer: number, like: number): number;
  /** Area of the infill of a layer that has been worked out. */
  sparseMm2(layer: number): number;
  /** Infill of a layer over what its share and area make it: a gyroid has more in some planes than in others. */
  infillShare(layer: number): number;
  /** The support of one layer in the same form; undefined where there is none. */
  supportOf(layer: number): LayerPaths | undefined;
  /** Gives the clipper's memory back. */
  free(): void;
}>;

/** Islands are looked for among those of so many layers asked for before. */
const KEPT_LAYERS = 4;

/** Outlines are cleaned, overhangs looked for and perimeters laid for the layers asked for only. Support needs all layers at once. */
export function sampleLayers(
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
  options: BeadPathOptions = {},
): LayerSamples {
  const { regions, moveTo, hangsAt, support } = recipe.support === 'none' ? lazyStack() : wholeStack();
  const sparseOf = new Map<number, Rings>();
  const seen: LayerFill['islands'][] = [];
  const nozzle: Nozzle = { x: 0, y: 0, known: false };

  return {
    pathsOf(i) {
      const size = beadSizeOf(loops, i, recipe);
      for (let k = i - Math.max(1, recipe.floorLayers); k <= i + recipe.roofLayers; k++) regionAt(regions, k);
      const islands = islandsWithPerimeters(regions[i], seen.flat(), size, recipe, polygons);
      seen.push(islands);
      if (seen.length > KEPT_LAYERS) seen.shift();
      const core = concatRings(islands.map((island) => island.perimeters.core));
      const filling = fillingOf(i, { loops, regions, moveTo }, core, hangsAt(i), recipe, polygons);
      sparseOf.set(i, filling.sparse);
      return layerAlone(i, (writer) => {
        if (i === 0)
          writeBeads(firstLayerBrim(regions[0], recipe, size, polygons), writer, nozzle, { keepOrder: false });
        writeIslands(islands, filling, i, loops.zMm[i], recipe, size, writer, nozzle);
      });
    },
    infillMm(i, like) {
      const sparse = sparseOf.get(like) as Rings;
      const beads = infillBeads(sparse, i, loops.zMm[i], recipe, beadSizeOf(loops, i, recipe));
      return beads.reduce((sum, bead) => sum + beadLengthMm(bead), 0);
    },
    sparseMm2: (i) => ringsAreaMm2(sparseOf.get(i) as Rings),
    infillShare(i) {
      if (recipe.infillPattern !== 'gyroid') return 1;
      const { spacingMm } = beadSizeOf(loops, i, recipe);
      return gyroidShare(loops.zMm[i], gyroidPeriodMm(recipe.infillShare, spacingMm));
    },
    supportOf(i) {
      const layer = support?.[i];
      if (layer === undefined || (ringCount(layer.columns) === 0 && ringCount(layer.contact) === 0)) return undefined;
      const { contactShare = CONTACT_SHARE } = options;
      return layerAlone(i, (writer) =>
        writeSupport(layer, i, recipe, contactShare, beadSizeOf(loops, i, recipe), writer, nozzle),
      );
    },
    free: () => polygons.free(),
  };

  function lazyStack(): Pick<LayerStack, 'regions' | 'moveTo' | 'support'> &
    Readonly<{ hangsAt: ReturnType<typeof hangFinder> }> {
    const made = new Array<Rings>(loops.zMm.length);
    const moves = outlineMoves(made);
    const stack = {
      regions: made,
      moveTo: (upper: number) => {
        regionAt(made, upper - 1);
        regionAt(made, upper);
        return moves(upper);
      },
    };
    return { ...stack, hangsAt: hangFinder(made, stack.moveTo, loops, recipe, polygons) };
  }

  function wholeStack(): ReturnType<typeof lazyStack> {
    const { regions, moveTo, hangs, support } = layerStack(loops, recipe, polygons, options);
    return {
      regions,
      moveTo,
      hangsAt: (i) => hangs[i] as ReturnType<ReturnType<typeof hangFinder>>,
      ...(support && { support }),
    };
  }

  function regionAt(known: readonly Rings[], i: number): void {
    if (i < 0 || i >= loops.zMm.length || known[i] !== undefined) return;
    const region = layerRegion(loops, i, polygons);
    const twin = [known[i - 1], known[i + 1]].find((other) => other !== undefined && sameRings(other, region, SAME_MM));
    (known as Rings[])[i] = twin ?? region;
  }

  function layerAlone(i: number, write: (writer: PathWriter) => void): LayerPaths {
    const writer = new PathWriter();
    if (i > 0) {
      // Where does a layer like this one end? There the nozzle stands when it begins.
      write(new PathWriter());
      writer.endLayer();
    }
    write(writer);
    writer.endLayer();
    const { topMm, bottomMm } = loops;
    if (i === 0) return writer.finish(bottomMm, topMm.slice(0, 1));
    return writer.finish(i > 1 ? topMm[i - 2] : bottomMm, topMm.slice(i - 1, i + 1));
  }
}
