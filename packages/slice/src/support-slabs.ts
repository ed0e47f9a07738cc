import type { LayerLoops, LayerPaths, Recipe } from '@stonehand/model';
import { beadSizeOf, CONTACT_SHARE, SUPPORT_DEFAULTS, writeSupport } from './bead-paths.ts';
import { hangsOf, unsupportedOf } from './hangs.ts';
import { layerRegions } from './layer-regions.ts';
import { outlineMoves } from './outline-moves.ts';
import { PathWriter } from './path-writer.ts';
import type { Polygons } from './polygons.ts';
import { NO_RINGS, type Rings, ringCount } from './rings.ts';
import { supportLayers } from './support.ts';

/** One layer's paths of the support in a slab of layers, as layer 1 over an empty layer 0, and in how many of the slab's layers they are laid. */
export type SlabPaths = Readonly<{ paths: LayerPaths; layers: number }>;
/** Layers first … first + layers − 1 of the piece. */
export type SupportSlab = Readonly<{ first: number; layers: number; parts: readonly SlabPaths[] }>;

/**
 * Support found on every so many-th layer only, as if the layers between were like it: what hangs over a slab stands on contact layers and, below
 * them, on columns. Empty slabs are left out.
 */
export function supportSlabs(loops: LayerLoops, recipe: Recipe, polygons: Polygons, every: number): SupportSlab[] {
  const thinned = everyNth(loops, every);
  const regions = layerRegions(thinned, polygons);
  const unsupported = hangsOf(regions, outlineMoves(regions), thinned, recipe, polygons).map(unsupportedOf);
  // Slabs of one layer are the layers themselves.
  const options = every === 1 ? SUPPORT_DEFAULTS : { ...SUPPORT_DEFAULTS, supportGapLayers: 0, contactLayers: 1 };
  const found = supportLayers(regions, unsupported, options, polygons);
  const n = loops.zMm.length;
  const slabs = found.flatMap(({ columns, contact }, s): SupportSlab[] => {
    if (ringCount(columns) === 0 && ringCount(contact) === 0) return [];
    const first = s * every;
    const layers = Math.min(every, n - first);
    const dense = Math.min(layers, SUPPORT_DEFAULTS.contactLayers);
    const below = every === 1 ? 0 : Math.max(0, layers - dense - SUPPORT_DEFAULTS.supportGapLayers);
    const part = (area: Rings, count: number, isDense: boolean): SlabPaths[] =>
      ringCount(area) === 0 || count === 0
        ? []
        : [{ layers: count, paths: pathsIn(area, isDense, loops, Math.max(1, first), recipe) }];
    return [
      {
        first,
        layers,
        parts: [...part(columns, layers, false), ...part(contact, dense, true), ...part(contact, below, false)],
      },
    ];
  });
  polygons.free();
  return slabs;
}

function pathsIn(area: Rings, dense: boolean, loops: LayerLoops, layer: number, recipe: Recipe): LayerPaths {
  const writer = new PathWriter();
  writer.endLayer();
  const support = { columns: dense ? NO_RINGS : area, contact: dense ? area : NO_RINGS };
  const size = beadSizeOf(loops, Math.min(layer, loops.zMm.length - 1), recipe);
  writeSupport(support, layer, recipe, CONTACT_SHARE, size, writer, { x: 0, y: 0, known: false });
  writer.endLayer();
  return writer.finish(0, Float64Array.of(recipe.layerMm, 2 * recipe.layerMm));
}

/** The stack as layers of `every` times the height, cut where the middle ones of each are. */
function everyNth(loops: LayerLoops, every: number): LayerLoops {
  const n = loops.zMm.length;
  const count = Math.ceil(n / every);
  const picked = Array.from({ length: count }, (_, k) => Math.min(k * every + (every >> 1), n - 1));
  const layerStart = new Uint32Array(count + 1);
  const loopStart = [0];
  const parts: Float64Array[] = [];
  picked.forEach((i, k) => {
    for (let l = loops.layerStart[i]; l < loops.layerStart[i + 1]; l++) {
      parts.push(loops.xyMm.subarray(2 * loops.loopStart[l], 2 * loops.loopStart[l + 1]));
      loopStart.push(loopStart[loopStart.length - 1] + loops.loopStart[l + 1] - loops.loopStart[l]);
    }
    layerStart[k + 1] = loopStart.length - 1;
  });
  const xyMm = new Float64Array(2 * loopStart[loopStart.length - 1]);
  parts.forEach((part, l) => {
    xyMm.set(part, 2 * loopStart[l]);
  });
  return {
    ...loops,
    zMm: Float64Array.from(picked, (i) => loops.zMm[i]),
    topMm: Float64Array.from({ length: count }, (_, k) => loops.topMm[Math.min((k + 1) * every, n) - 1]),
    layerStart,
    loopStart: Uint32Array.from(loopStart),
    xyMm,
  };
}
