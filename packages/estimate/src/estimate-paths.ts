import type { Amount, BeadKind, Estimate, LayerPaths, Material, Printer, Recipe } from '@stonehand/model';
import { BEAD_KINDS, beadAreaMm2 } from '@stonehand/slice';
import { type Motion, PathTimer } from './path-seconds.ts';
import { massFigure, timeFigure } from './priors.ts';
import { MassSums } from './solid-of-beads.ts';

export type EstimateFor = Readonly<{
  pieceId: string;
  recipe: Recipe;
  printer: Printer;
  material: Material;
  /** a travel at least this long pulls the filament back first */
  pullBackTravelMm?: number;
}>;

/** Common practice, no source: shorter moves inside a part leave no string. */
const PULL_BACK_TRAVEL_MM = 1.5;

/** Kinds that do not stay in the part. */
const REMOVED: ReadonlySet<BeadKind> = new Set<BeadKind>(['support', 'contact', 'brim', 'purge']);
const SUPPORT: ReadonlySet<BeadKind> = new Set<BeadKind>(['support', 'contact']);

/**
 * Grams, metres and seconds of one piece from its bead paths. Each path starts and ends at rest; speeds are the printer's
 * by kind of bead, held down by the flow that printer and material allow, and on the first layer by its own limit.
 * byKind holds the time as slowed to the recipe's least seconds per layer; layer changes and warm-up are in durationS
 * only. layerS is not slowed and includes the layer change: plateSeconds needs it so.
 */
export function estimatePaths(
  paths: LayerPaths,
  { pieceId, recipe, printer, material, pullBackTravelMm = PULL_BACK_TRAVEL_MM }: EstimateFor,
): Estimate {
  const flowMm3S = Math.min(printer.flowMm3S, material.flowMm3S);
  const gPerMm3 = material.densityGPerCm3 / 1000;
  const timer = new PathTimer();
  const body = new MassSums();
  const sums = BEAD_KINDS.map(() => ({ volumeMm3: 0, durationS: 0, pathMm: 0 }));
  const layerKindS = new Float64Array(BEAD_KINDS.length);
  const layerS: number[] = [];
  const layerG: number[] = [];
  let durationS = printer.warmUpS;
  let peakFlowMm3S = 0;
  for (let i = 0; i < paths.topMm.length; i++) {
    const bottomMm = i === 0 ? paths.bottomMm : paths.topMm[i - 1];
    const heightMm = paths.topMm[i] - bottomMm;
    let volumeMm3 = 0;
    layerKindS.fill(0);
    for (let p = paths.layerStart[i]; p < paths.layerStart[i + 1]; ) {
      const run = runEnd(paths, p, paths.layerStart[i + 1]);
      const k = paths.kind[p];
      const kind = BEAD_KINDS[k];
      const closed = paths.closed[p] === 1;
      let lengthMm = 0;
      let broadestMm2 = 0;
      for (let q = p; q < run; q++) {
        const sectionMm2 = kind === 'travel' ? 0 : beadAreaMm2(paths.widthMm[q], heightMm);
        const bodyG = REMOVED.has(kind) ? 0 : sectionMm2 * gPerMm3;
        const pathMm = addPath(
          paths.xyMm,
          paths.pathStart[q],
          paths.pathStart[q + 1],
          closed,
          bodyG,
          bottomMm,
          heightMm,
          body,
        );
        lengthMm += pathMm;
        sums[k].volumeMm3 += pathMm * sectionMm2;
        volumeMm3 += pathMm * sectionMm2;
        broadestMm2 = Math.max(broadestMm2, sectionMm2);
      }
      const motion = motionOf(kind, broadestMm2, flowMm3S, i === 0, printer);
      layerKindS[k] += timer.seconds(paths.xyMm, paths.pathStart[p], paths.pathStart[run], closed, motion);
      if (kind === 'travel' && lengthMm >= pullBackTravelMm) layerKindS[k] += printer.pullBackS;
      sums[k].pathMm += lengthMm;
      peakFlowMm3S = Math.max(peakFlowMm3S, motion.speedMmS * broadestMm2);
      p = run;
    }
    const seconds = layerKindS.reduce((sum, s) => sum + s, 0) + printer.layerChangeS;
    const slowed = Math.max(seconds, recipe.leastLayerS);
    for (let k = 0; k < sums.length; k++) sums[k].durationS += layerKindS[k] * (seconds > 0 ? slowed / seconds : 1);
    durationS += slowed;
    layerS.push(seconds);
    layerG.push(volumeMm3 * gPerMm3);
  }
  const byKind: Amount[] = [];
  BEAD_KINDS.forEach((kind, k) => {
    if (sums[k].pathMm > 0) byKind.push({ kind, ...sums[k], massG: sums[k].volumeMm3 * gPerMm3 });
  });
  const gramsOf = (wanted: (kind: BeadKind) => boolean): number =>
    byKind.reduce((sum, amount) => sum + (wanted(amount.kind) ? amount.massG : 0), 0);
  const supportG = gramsOf((kind) => SUPPORT.has(kind));
  const totalG = gramsOf(() => true);
  const from = `${recipe.id} in ${material.id} on ${printer.id}`;
  return {
    pieceId,
    printerId: printer.id,
    recipeId: recipe.id,
    materialId: material.id,
    mode: 'full',
    massG: massFigure(totalG - supportG, supportG, from),
    durationS: timeFigure(durationS, from),
    filamentMm: filamentLengthMm(totalG / gPerMm3, material.diameterMm),
    byKind,
    layerS,
    layerG,
    peakFlowMm3S,
    centreMm: body.centreMm(),
    inertiaGMm2: body.inertiaGMm2(),
    partG: gramsOf((kind) => !REMOVED.has(kind)),
    ...(material.pricePerKg === undefined ? {} : { price: (totalG / 1000) * material.pricePerKg }),
  };
}

/**
 * Paths p … result − 1 are one motion: open beads of one kind, each beginning exactly where the one before it ended (a thin wall
 * whose width changes). Their points follow each other in xyMm, and repeated points cost no time.
 */
export function runEnd(paths: LayerPaths, p: number, layerEnd: number): number {
  const { xyMm: xy, pathStart } = paths;
  let q = p + 1;
  while (q < layerEnd && paths.kind[q] === paths.kind[p] && paths.closed[p] === 0 && paths.closed[q] === 0) {
    const at = 2 * pathStart[q];
    if (xy[at] !== xy[at - 2] || xy[at + 1] !== xy[at - 1]) break;
    q++;
  }
  return q;
}

/** Length of filament that holds a volume. */
export function filamentLengthMm(volumeMm3: number, diameterMm: number): number {
  return volumeMm3 / ((Math.PI / 4) * diameterMm * diameterMm);
}

/** Speed at which a bead of this section uses the whole flow. */
export function flowSpeedMmS(flowMm3S: number, sectionMm2: number): number {
  return sectionMm2 > 0 ? flowMm3S / sectionMm2 : Number.POSITIVE_INFINITY;
}

export function motionOf(
  kind: BeadKind,
  sectionMm2: number,
  flowMm3S: number,
  firstLayer: boolean,
  printer: Printer,
): Motion {
  let speedMmS = Math.min(printer.speedMmS[kind], flowSpeedMmS(flowMm3S, sectionMm2));
  if (firstLayer && kind !== 'travel') speedMmS = Math.min(speedMmS, printer.firstLayerMmS);
  return { speedMmS, accelMmS2: printer.accelMmS2[kind], cornerSpeedMmS: printer.cornerSpeedMmS };
}

/** Length of a path; its pieces go to the body's sums where gPerMm is not 0. */
function addPath(
  xy: Float32Array,
  from: number,
  to: number,
  closed: boolean,
  gPerMm: number,
  bottomMm: number,
  heightMm: number,
  body: MassSums,
): number {
  let lengthMm = 0;
  const zMm = bottomMm + heightMm / 2;
  const moves = closed ? to - from : to - from - 1;
  let ax = xy[2 * from];
  let ay = xy[2 * from + 1];
  for (let k = 1; k <= moves; k++) {
    const i = from + k === to ? from : from + k;
    const bx = xy[2 * i];
    const by = xy[2 * i + 1];
    const l = Math.sqrt((bx - ax) * (bx - ax) + (by - ay) * (by - ay));
    lengthMm += l;
    if (gPerMm > 0) body.addRod(l * gPerMm, ax, ay, bx, by, zMm, heightMm);
    ax = bx;
    ay = by;
  }
  return lengthMm;
}
