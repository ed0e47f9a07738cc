import type { BeadKind, Estimate, LayerLoops, Recipe } from '@stonehand/model';
import {
  BEAD_KINDS,
  beadSpacingMm,
  type LayerSamples,
  type SupportSlab,
  sampleLayers,
  supportSlabs,
} from '@stonehand/slice';
import { DEPTH_BOUNDS } from './depths.ts';
import { estimateOfLayers } from './estimate-of-layers.ts';
import {
  AT,
  BODY_AT,
  type LayerFigures,
  layerFigures,
  noFigures,
  PATH_AT,
  partVolume,
  SECONDS_AT,
  VOLUME_AT,
} from './layer-figures.ts';
import { type LayerSections, layerSections, stretchOf } from './layer-stretches.ts';
import { hopSeconds } from './plate-seconds.ts';
import { quickEstimate, type SampledFor } from './quick-estimate.ts';

/** So many layers are worked out as in `full`, whatever the height: they show how far the model is off for this piece. */
const WORKED_OUT = 20;
/** Support is found on this many slabs of layers. */
const SUPPORT_SLABS = 320;
/** From the part to its support it is about so far, as a share of the piece's width (no source). */
const HOP_SHARE = 0.25;
/** To the columns, to the contact layers, back to the part. */
const WAYS = 3;
/** A section that changes by more than this share divides the layers that learn from each other. */
const JUMP_SHARE = 0.1;

/** Kinds whose amount follows from area and outline of a section. */
const MODELLED = ['outerPerimeter', 'innerPerimeter', 'solid', 'infill'] as const satisfies readonly BeadKind[];
type Modelled = (typeof MODELLED)[number];

/**
 * An estimate for searches: each layer's plastic from the area and the outline of its section, floors and roofs from what neighbouring sections do not
 * cover, put right by a dozen layers that are worked out. See DEPTH_BOUNDS for how far that may be off.
 */
export function rankEstimate(loops: LayerLoops, { polygons, ...options }: SampledFor): Estimate {
  const { recipe } = options;
  const n = loops.zMm.length;
  const supportEvery = Math.max(1, Math.ceil(n / SUPPORT_SLABS));
  const samples = sampleLayers(loops, { ...recipe, support: 'none' }, polygons);
  const sections = layerSections(loops);
  const model = Array.from({ length: n }, (_, i) => modelledMm3(loops, sections, samples, recipe, i));
  const known = new Map<number, LayerFigures>();
  let peakFlowMm3S = 0;
  for (const i of chosenLayers(model)) {
    const told = layerFigures(samples.pathsOf(i), options);
    known.set(i, told.figures);
    peakFlowMm3S = Math.max(peakFlowMm3S, told.peakFlowMm3S);
  }
  const stretch = stretchOf(sections, JUMP_SHARE);
  if (isIrregular(model, known, stretch)) {
    samples.free();
    return { ...quickEstimate(loops, { polygons, ...options }), mode: 'rank', bound: DEPTH_BOUNDS.rank };
  }
  const foretold = foreteller(model, known, stretch);
  const layers = model.map((_, i) => known.get(i) ?? foretold(i));
  samples.free();
  if (recipe.support === 'auto') {
    addSlabs(layers, supportSlabs(loops, recipe, polygons, supportEvery), loops, { polygons, ...options });
  }
  return estimateOfLayers(loops, layers, 'rank', peakFlowMm3S, options);
}

type Amounts = Readonly<Record<Modelled, number>>;

function modelledMm3(
  loops: LayerLoops,
  { areaMm2, perimeterMm }: LayerSections,
  samples: LayerSamples,
  recipe: Recipe,
  i: number,
): Amounts {
  const n = areaMm2.length;
  const heightMm = loops.topMm[i] - (i === 0 ? loops.bottomMm : loops.topMm[i - 1]);
  const spacingMm = beadSpacingMm(recipe.beadWidthMm, heightMm);
  const { perimeters, floorLayers, roofLayers } = recipe;
  const ring = spacingMm * heightMm * perimeterMm[i];
  // Walls cannot hold more than there is.
  const wallMm3 = Math.min(perimeters * ring, areaMm2[i] * heightMm);
  const outerMm3 = Math.min(ring, wallMm3);
  const coreMm2 = areaMm2[i] - wallMm3 / heightMm;
  let bareMm2 = i < floorLayers || i + roofLayers >= n ? coreMm2 : 0;
  for (let k = 1; k <= roofLayers && i + k < n; k++) bareMm2 = Math.max(bareMm2, areaMm2[i] - areaMm2[i + k]);
  for (let k = 1; k <= floorLayers && i - k >= 0; k++) bareMm2 = Math.max(bareMm2, areaMm2[i] - areaMm2[i - k]);
  const solidMm2 = Math.min(coreMm2, bareMm2);
  return {
    outerPerimeter: outerMm3,
    innerPerimeter: wallMm3 - outerMm3,
    solid: solidMm2 * heightMm,
    infill: recipe.infillShare * (coreMm2 - solidMm2) * heightMm * samples.infillShare(i),
  };
}

/**
 * The first layer, others spread over the plastic, and for each kind the layer that should have most of it. The steps are uneven (golden section), because
 * infill repeats itself after a number of layers and even steps would meet it in the same phase again and again.
 */
function chosenLayers(model: readonly Amounts[]): number[] {
  const weight = model.map((amounts) => MODELLED.reduce((sum, kind) => sum + amounts[kind], 0));
  const total = weight.reduce((sum, w) => sum + w, 0);
  const chosen = new Set([0]);
  let sum = 0;
  let step = 0;
  const place = (): number => ((step + ((step * GOLDEN) % 1)) * total) / WORKED_OUT;
  weight.forEach((w, i) => {
    sum += w;
    if (i === 0 || sum < place()) return;
    chosen.add(i);
    while (sum >= place()) step++;
  });
  for (const kind of MODELLED) {
    let most = 1;
    for (let i = 2; i < model.length; i++) if (model[i][kind] > model[most][kind]) most = i;
    if (model.length > 1 && model[most][kind] > 0) chosen.add(most);
  }
  return [...chosen];
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;

/** Layers that were not worked out lie between the known ones beside them, moved by what the model says of the difference. */
function foreteller(
  model: readonly Amounts[],
  known: ReadonlyMap<number, LayerFigures>,
  stretch: Uint32Array,
): (layer: number) => LayerFigures {
  const at = [...known.keys()].sort((a, b) => a - b);
  // The first layer is slower than others.
  const others = at.length > 1 ? at.slice(1) : at;
  const rates = BEAD_KINDS.map((_, k) =>
    ratesOf(
      others.map((i) => known.get(i) as LayerFigures),
      k,
    ),
  );
  return (i) => {
    const amounts = model[i];
    const [a, b] = beside(at, i, stretch);
    const t = a === b ? 0 : (i - a) / (b - a);
    const fa = known.get(a) as LayerFigures;
    const fb = known.get(b) as LayerFigures;
    const out = noFigures();
    for (let k = 0; k < out.length; k++) out[k] = fa[k] + t * (fb[k] - fa[k]);
    out[VOLUME_AT + AT.brim] = out[PATH_AT + AT.brim] = out[SECONDS_AT + AT.brim] = 0;
    const before = partVolume(out);
    for (const kind of MODELLED) {
      const k = AT[kind];
      const more = amounts[kind] - (model[a][kind] + t * (model[b][kind] - model[a][kind]));
      // At the rate of the whole piece: what a known layer has little of is mostly scraps, and slow.
      const rate = rates[k] ?? rates[AT.innerPerimeter];
      if (rate === undefined) continue;
      out[VOLUME_AT + k] = Math.max(0, out[VOLUME_AT + k] + more);
      out[PATH_AT + k] = Math.max(0, out[PATH_AT + k] + more * rate.mmPerMm3);
      out[SECONDS_AT + k] = Math.max(0, out[SECONDS_AT + k] + more * rate.sPerMm3);
    }
    const share = before > 0 ? partVolume(out) / before : 1;
    for (let k = BODY_AT; k < out.length; k++) out[k] *= share;
    return out;
  };
}

/** The layers worked out are each foretold from the others; this far off on average (by the square root of their number) the sum may be too. */
const MOST_DOUBT = 0.025;

/** Sections that tell nothing of each other, as in a lattice whose holes come and go. */
function isIrregular(
  model: readonly Amounts[],
  known: ReadonlyMap<number, LayerFigures>,
  stretch: Uint32Array,
): boolean {
  const at = [...known.keys()].filter((i) => i > 0);
  if (at.length < 4) return false;
  let plastic = 0;
  let squares = 0;
  for (const i of at) {
    const others = new Map([...known].filter(([k]) => k !== i));
    const found = partVolume(known.get(i) as LayerFigures);
    squares += (partVolume(foreteller(model, others, stretch)(i)) - found) ** 2;
    plastic += found;
  }
  return Math.sqrt(squares) > MOST_DOUBT * plastic;
}

/** Length and seconds per volume of one kind over all known layers; undefined where none has any. */
function ratesOf(all: readonly LayerFigures[], k: number): { mmPerMm3: number; sPerMm3: number } | undefined {
  const sum = (part: number): number => all.reduce((total, figures) => total + figures[part + k], 0);
  const volumeMm3 = sum(VOLUME_AT);
  return volumeMm3 > 0 ? { mmPerMm3: sum(PATH_AT) / volumeMm3, sPerMm3: sum(SECONDS_AT) / volumeMm3 } : undefined;
}

/** The known layers before and after i in its own stretch; one of them twice where the other is missing; else the nearest known but the first. */
function beside(at: readonly number[], i: number, stretch: Uint32Array): [number, number] {
  const before = at.findLast((k) => k > 0 && k < i && stretch[k] === stretch[i]);
  const after = at.find((k) => k > i && stretch[k] === stretch[i]);
  if (before !== undefined || after !== undefined) return [before ?? (after as number), after ?? (before as number)];
  const others = at.length > 1 ? at.filter((k) => k > 0) : at;
  const nearest = others.reduce((best, k) => (Math.abs(k - i) < Math.abs(best - i) ? k : best));
  return [nearest, nearest];
}

/** Adds what was found on slabs, spread evenly over the layers of each, and the ways to the support and back. */
function addSlabs(layers: LayerFigures[], slabs: readonly SupportSlab[], loops: LayerLoops, options: SampledFor): void {
  const hopMm = HOP_SHARE * meanWidthMm(loops);
  const waysS = WAYS * hopSeconds(options.printer, hopMm);
  for (const { first, layers: count, parts } of slabs) {
    const slab = noFigures();
    for (const { paths, layers: laid } of parts) {
      const { figures } = layerFigures(paths, options);
      for (let k = 0; k < BODY_AT; k++) slab[k] += (figures[k] * laid) / count;
    }
    slab[PATH_AT + AT.travel] += WAYS * hopMm;
    slab[SECONDS_AT + AT.travel] += waysS;
    for (let i = first; i < first + count; i++) layers[i] = layers[i].map((value, k) => value + slab[k]);
  }
}

/** Mean of width and depth of everything. */
function meanWidthMm({ xyMm }: LayerLoops): number {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < xyMm.length; i += 2) {
    x0 = Math.min(x0, xyMm[i]);
    x1 = Math.max(x1, xyMm[i]);
    y0 = Math.min(y0, xyMm[i + 1]);
    y1 = Math.max(y1, xyMm[i + 1]);
  }
  return (x1 - x0 + y1 - y0) / 2;
}
