import type { Amount, BeadKind, Estimate, LayerLoops } from '@stonehand/model';
import { BEAD_KINDS, type LayerSamples } from '@stonehand/slice';
import { DEPTH_BOUNDS, type SampledDepth } from './depths.ts';
import { type EstimateFor, filamentLengthMm } from './estimate-paths.ts';
import {
  BODY_AT,
  KINDS,
  type LayerFigures,
  layerFigures,
  PATH_AT,
  REMOVED,
  SECONDS_AT,
  StackedMass,
  SUPPORT,
  VOLUME_AT,
} from './layer-figures.ts';
import { massFigure, timeFigure } from './priors.ts';

/** Adds the support of every layer, worked out in full. */
export function addSupport(layers: LayerFigures[], samples: LayerSamples, options: EstimateFor): void {
  for (let i = 0; i < layers.length; i++) {
    const paths = samples.supportOf(i);
    if (paths === undefined) continue;
    const { figures } = layerFigures(paths, options);
    layers[i] = layers[i].map((value, k) => (k < BODY_AT ? value + figures[k] : value));
  }
}

/** The estimate of a piece from the figures of its layers. */
export function estimateOfLayers(
  loops: LayerLoops,
  layers: readonly LayerFigures[],
  depth: SampledDepth,
  peakFlowMm3S: number,
  { pieceId, recipe, printer, material }: EstimateFor,
): Estimate {
  const gPerMm3 = material.densityGPerCm3 / 1000;
  const sums = BEAD_KINDS.map(() => ({ volumeMm3: 0, durationS: 0, pathMm: 0 }));
  const body = new StackedMass();
  const layerS: number[] = [];
  const layerG: number[] = [];
  let durationS = printer.warmUpS;
  layers.forEach((figures, i) => {
    const bottomMm = i === 0 ? loops.bottomMm : loops.topMm[i - 1];
    body.add(figures, (bottomMm + loops.topMm[i]) / 2, loops.topMm[i] - bottomMm);
    let seconds = printer.layerChangeS;
    let volumeMm3 = 0;
    for (let k = 0; k < KINDS; k++) {
      seconds += figures[SECONDS_AT + k];
      volumeMm3 += figures[VOLUME_AT + k];
    }
    const slowed = Math.max(seconds, recipe.leastLayerS);
    sums.forEach((sum, k) => {
      sum.volumeMm3 += figures[VOLUME_AT + k];
      sum.pathMm += figures[PATH_AT + k];
      sum.durationS += figures[SECONDS_AT + k] * (seconds > 0 ? slowed / seconds : 1);
    });
    durationS += slowed;
    layerS.push(seconds);
    layerG.push(volumeMm3 * gPerMm3);
  });
  const byKind: Amount[] = [];
  BEAD_KINDS.forEach((kind, k) => {
    if (sums[k].pathMm > 0) byKind.push({ kind, ...sums[k], massG: sums[k].volumeMm3 * gPerMm3 });
  });
  const gramsOf = (wanted: (kind: BeadKind) => boolean): number =>
    byKind.reduce((sum, amount) => sum + (wanted(amount.kind) ? amount.massG : 0), 0);
  const supportG = gramsOf((kind) => SUPPORT.includes(kind));
  const totalG = gramsOf(() => true);
  const bounds = DEPTH_BOUNDS[depth];
  const from = `${recipe.id} in ${material.id} on ${printer.id}, ${depth}`;
  const massG = massFigure(totalG - supportG, supportG, from);
  const time = timeFigure(durationS, from);
  return {
    pieceId,
    printerId: printer.id,
    recipeId: recipe.id,
    materialId: material.id,
    mode: depth,
    bound: bounds,
    massG: {
      ...massG,
      low: (massG.low ?? totalG) - bounds.mass * totalG,
      high: (massG.high ?? totalG) + bounds.mass * totalG,
    },
    durationS: {
      ...time,
      low: (time.low ?? durationS) - bounds.time * durationS,
      high: (time.high ?? durationS) + bounds.time * durationS,
    },
    filamentMm: filamentLengthMm(totalG / gPerMm3, material.diameterMm),
    byKind,
    layerS,
    layerG,
    peakFlowMm3S,
    centreMm: body.centreMm(),
    inertiaGMm2: body.inertiaGMm2(),
    partG: gramsOf((kind) => !REMOVED.includes(kind)),
    ...(material.pricePerKg === undefined ? {} : { price: (totalG / 1000) * material.pricePerKg }),
  };
}
