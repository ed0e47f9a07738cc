import type { Estimate, LayerLoops, Recipe } from '@stonehand/model';
import { beadSpacingMm, type LayerSamples, type Polygons, sampleLayers } from '@stonehand/slice';
import { addSupport, estimateOfLayers } from './estimate-of-layers.ts';
import type { EstimateFor } from './estimate-paths.ts';
import {
  AT,
  BODY_AT,
  KINDS,
  type LayerFigures,
  layerFigures,
  noFigures,
  PATH_AT,
  partVolume,
  stretchKind,
  VOLUME_AT,
} from './layer-figures.ts';
import { type LayerSections, layerSections, stretchStarts, unevenness } from './layer-stretches.ts';

export type SampledFor = EstimateFor & Readonly<{ polygons: Polygons }>;

/**
 * When a stretch of layers is taken as steady; shares of a layer's own plastic or wall length. A section that jumps begins a new stretch. `alike`: sections do
 * not change at all, and the ends agree; `middle`: the middle is as foretold, `uneven`: and no layer between strays from the course of the ends.
 */
const LIMITS = { jump: 0.03, alike: 1e-3, ends: 1e-3, uneven: 0.1, middle: 2e-3, leastSpan: 4 };
/** Time changes from layer to layer more than plastic does, most of all where a gyroid comes apart in pieces: so far apart at most are layers that are worked out. */
const MOST_SPAN = 40;
const GYROID_SPAN = 10;
/** With fewer layers a jump that is passed over weighs more. */
const JUMP_LAYERS = 300;

/**
 * An estimate from some of the layers. All are cut, so area, outline and loops of each are known; where these change steadily only the ends and the middle
 * of a stretch are worked out like in `full`, and the stretch is halved as long as the middle is not what its ends foretell. What lies between follows the
 * sections of its own layer. See DEPTH_BOUNDS for how far that may be off.
 */
export function quickEstimate(loops: LayerLoops, { polygons, ...options }: SampledFor): Estimate {
  const { recipe } = options;
  const samples = sampleLayers(loops, recipe, polygons);
  const sections = layerSections(loops);
  const known = new Map<number, LayerFigures>();
  let peakFlowMm3S = 0;
  const figuresAt = (i: number): LayerFigures => {
    let found = known.get(i);
    if (found === undefined) {
      const told = layerFigures(samples.pathsOf(i), options);
      found = told.figures;
      peakFlowMm3S = Math.max(peakFlowMm3S, told.peakFlowMm3S);
      known.set(i, found);
    }
    return found;
  };
  const between = betweenLayers(loops, sections, samples, recipe);
  const layers = new Array<LayerFigures>(loops.zMm.length);
  const mostSpan = recipe.infillPattern === 'gyroid' && recipe.infillShare > 0 ? GYROID_SPAN : MOST_SPAN;
  const starts = stretchStarts(sections, recipe, LIMITS.jump * Math.min(1, loops.zMm.length / JUMP_LAYERS));
  const fill = (a: number, b: number): void => {
    layers[a] = figuresAt(a);
    layers[b] = figuresAt(b);
    if (b - a < 2) return;
    const uneven = unevenness(sections, a, b);
    const middle = (a + b) >> 1;
    const alike = uneven < LIMITS.alike && differ(layers[a], layers[b]) < LIMITS.ends;
    if (alike && b - a <= mostSpan) {
      fillBetween(a, b);
      return;
    }
    const told = between(a, b, layers[a], layers[b], middle);
    const mayBeSteady = uneven < LIMITS.uneven && b - a >= LIMITS.leastSpan && b - a <= 2 * mostSpan;
    if (mayBeSteady && differ(told, figuresAt(middle)) < LIMITS.middle) {
      layers[middle] = figuresAt(middle);
      fillBetween(a, middle);
      fillBetween(middle, b);
      return;
    }
    fill(a, middle);
    fill(middle, b);
  };
  const fillBetween = (a: number, b: number): void => {
    for (let i = a + 1; i < b; i++) layers[i] = between(a, b, layers[a], layers[b], i);
  };
  for (let s = 0; s + 1 < starts.length; s++) fill(starts[s], starts[s + 1] - 1);
  addSupport(layers, samples, options);
  samples.free();
  return estimateOfLayers(loops, layers, 'quick', peakFlowMm3S, options);
}

/** How much two layers' figures differ, as a share of the layer's plastic or wall length. */
function differ(a: LayerFigures, b: LayerFigures): number {
  let volume = 0;
  const wallA = a[PATH_AT + AT.outerPerimeter] + a[PATH_AT + AT.innerPerimeter];
  const wallB = b[PATH_AT + AT.outerPerimeter] + b[PATH_AT + AT.innerPerimeter];
  let off = 0;
  for (let k = 0; k < KINDS; k++) {
    volume += b[VOLUME_AT + k];
    off += a[VOLUME_AT + k] - b[VOLUME_AT + k];
  }
  return Math.max(Math.abs(off) / Math.max(volume, 1e-9), Math.abs(wallA - wallB) / Math.max(wallB, 1e-9));
}

/** Figures of a layer between two that are known: straight between them, then moved by what its own area and outline differ from that. */
function betweenLayers(
  loops: LayerLoops,
  { areaMm2, perimeterMm }: LayerSections,
  samples: LayerSamples,
  recipe: Recipe,
): (a: number, b: number, fa: LayerFigures, fb: LayerFigures, i: number) => LayerFigures {
  const gyroid = recipe.infillPattern === 'gyroid' && recipe.infillShare > 0;
  return (a, b, fa, fb, i) => {
    const t = (i - a) / (b - a);
    const out = noFigures();
    for (let k = 0; k < out.length; k++) out[k] = fa[k] + t * (fb[k] - fa[k]);
    const heightMm = loops.topMm[i] - loops.topMm[i - 1];
    const spacingMm = beadSpacingMm(recipe.beadWidthMm, heightMm);
    const moreMm = perimeterMm[i] - (perimeterMm[a] + t * (perimeterMm[b] - perimeterMm[a]));
    const moreMm2 = areaMm2[i] - (areaMm2[a] + t * (areaMm2[b] - areaMm2[a]));
    const before = partVolume(out);
    stretchKind(out, AT.outerPerimeter, ratio(moreMm, out[PATH_AT + AT.outerPerimeter]));
    stretchKind(out, AT.innerPerimeter, ratio((recipe.perimeters - 1) * moreMm, out[PATH_AT + AT.innerPerimeter]));
    const coreMm3 = (moreMm2 - recipe.perimeters * spacingMm * moreMm) * heightMm;
    const sparse = out[VOLUME_AT + AT.infill] > 0;
    if (sparse && !gyroid) stretchKind(out, AT.infill, ratio(recipe.infillShare * coreMm3, out[VOLUME_AT + AT.infill]));
    else if (!sparse) stretchKind(out, AT.solid, ratio(coreMm3, out[VOLUME_AT + AT.solid]));
    if (gyroid && sparse) {
      const sparseMm2 = samples.sparseMm2(a) + t * (samples.sparseMm2(b) - samples.sparseMm2(a)) + coreMm3 / heightMm;
      // Small areas hold more or less than their share, from plane to plane: then the curves are laid, in the nearer known layer's area.
      const near = 2 * i < a + b ? a : b;
      const lengthMm =
        samples.sparseMm2(near) > 0
          ? (samples.infillMm(i, near) * sparseMm2) / samples.sparseMm2(near)
          : (recipe.infillShare / spacingMm) * sparseMm2;
      const more = lengthMm - out[PATH_AT + AT.infill];
      stretchKind(out, AT.infill, ratio(more, out[PATH_AT + AT.infill]));
    }
    const share = before > 0 ? partVolume(out) / before : 1;
    for (let k = BODY_AT; k < out.length; k++) out[k] *= share;
    return out;
  };
}

const ratio = (more: number, all: number): number => (all > 0 ? Math.max(-1, more / all) : 0);
