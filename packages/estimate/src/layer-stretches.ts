import type { LayerLoops, Recipe } from '@stonehand/model';
import { layerAreaMm2, layerPerimeterMm } from '@stonehand/slice';

/** What is known of every layer as soon as it is cut. */
export type LayerSections = Readonly<{ areaMm2: Float64Array; perimeterMm: Float64Array; loops: Uint32Array }>;

export function layerSections(loops: LayerLoops): LayerSections {
  const n = loops.zMm.length;
  return {
    areaMm2: Float64Array.from({ length: n }, (_, i) => layerAreaMm2(loops, i)),
    perimeterMm: Float64Array.from({ length: n }, (_, i) => layerPerimeterMm(loops, i)),
    loops: Uint32Array.from({ length: n }, (_, i) => loops.layerStart[i + 1] - loops.layerStart[i]),
  };
}

/**
 * Splits the layers into stretches in which figures change steadily: at every layer whose section jumps, and as many layers before and after it as
 * floors and roofs reach. The first layer, with its own speed, height and brim, stands alone.
 * @returns the first layer of each stretch, ascending, and the number of layers
 */
export function stretchStarts(sections: LayerSections, recipe: Recipe, jumpShare: number): number[] {
  const n = sections.loops.length;
  const { roofLayers, floorLayers } = recipe;
  const starts = new Set([0, 1, floorLayers, n - roofLayers, n]);
  for (let i = 1; i < n; i++) {
    if (!jumps(sections, i, jumpShare)) continue;
    for (const start of [i - roofLayers, i, i + floorLayers]) starts.add(start);
  }
  return [...starts].filter((start) => start >= 0 && start <= n).sort((a, b) => a - b);
}

/** The number of the stretch that each layer lies in; only jumps divide. */
export function stretchOf(sections: LayerSections, jumpShare: number): Uint32Array {
  const stretch = new Uint32Array(sections.loops.length);
  for (let i = 1; i < stretch.length; i++) stretch[i] = stretch[i - 1] + (jumps(sections, i, jumpShare) ? 1 : 0);
  return stretch;
}

function jumps({ areaMm2, perimeterMm, loops }: LayerSections, i: number, share: number): boolean {
  // Sections are followed layer by layer anyway; what a change adds besides are floors and roofs, and most where loops come or go.
  const most = loops[i] === loops[i - 1] ? share : share / 4;
  const far = (values: Float64Array): boolean =>
    Math.abs(values[i] - values[i - 1]) > most * Math.max(Math.abs(values[i]), Math.abs(values[i - 1]));
  return far(areaMm2) || far(perimeterMm);
}

/** How far the sections between layers a and b stray from a straight course between the two, as a share of the section. */
export function unevenness({ areaMm2, perimeterMm }: LayerSections, a: number, b: number): number {
  let worst = 0;
  for (const values of [areaMm2, perimeterMm]) {
    const step = (values[b] - values[a]) / (b - a);
    const scale = Math.max(Math.abs(values[a]), Math.abs(values[b]), 1e-9);
    for (let i = a + 1; i < b; i++) {
      const off = Math.abs(values[i] - values[a] - step * (i - a));
      // A step that is not like the others counts more: floors and roofs live on steps.
      const bend = Math.abs(values[i] - values[i - 1] - step);
      worst = Math.max(worst, off / scale, (STEP_WEIGHT * bend) / scale);
    }
  }
  return worst;
}

const STEP_WEIGHT = 4;
