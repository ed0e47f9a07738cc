import type { BeadKind, LayerPaths, Tensor, Vec3 } from '@stonehand/model';
import { BEAD_KINDS } from '@stonehand/slice';
import { type EstimateFor, estimatePaths } from './estimate-paths.ts';

/**
 * What one layer adds to an estimate, as numbers that can be averaged between layers: volume (mm³), length (mm) and unslowed seconds of each kind of
 * bead in the order of BEAD_KINDS, then mass of the part in g and its moments ∫x ∫y ∫x² ∫y² ∫xy.
 */
export type LayerFigures = Float64Array;

export const KINDS: number = BEAD_KINDS.length;
export const VOLUME_AT = 0;
export const PATH_AT: number = KINDS;
export const SECONDS_AT: number = 2 * KINDS;
export const BODY_AT: number = 3 * KINDS;
const LENGTH = BODY_AT + 6;

/** Places of the kinds. */
export const AT: Readonly<Record<BeadKind, number>> = Object.fromEntries(
  BEAD_KINDS.map((kind, k) => [kind, k]),
) as Record<BeadKind, number>;

/** Kinds that do not stay in the part. */
export const SUPPORT: readonly BeadKind[] = ['support', 'contact'];
export const REMOVED: readonly BeadKind[] = [...SUPPORT, 'brim', 'purge'];

export const noFigures = (): LayerFigures => new Float64Array(LENGTH);

/** The figures of the last layer of these paths, and the flow at its peak. */
export function layerFigures(paths: LayerPaths, options: EstimateFor): { figures: LayerFigures; peakFlowMm3S: number } {
  const estimate = estimatePaths(paths, { ...options, recipe: { ...options.recipe, leastLayerS: 0 } });
  const figures = noFigures();
  for (const { kind, volumeMm3, pathMm, durationS } of estimate.byKind) {
    const k = BEAD_KINDS.indexOf(kind);
    figures[VOLUME_AT + k] = volumeMm3;
    figures[PATH_AT + k] = pathMm;
    figures[SECONDS_AT + k] = durationS;
  }
  const m = estimate.partG ?? 0;
  const [x, y] = estimate.centreMm;
  const [xx, yy, zz, xy] = estimate.inertiaGMm2;
  figures.set(
    [m, m * x, m * y, (yy + zz - xx) / 2 + m * x * x, (xx + zz - yy) / 2 + m * y * y, m * x * y - xy],
    BODY_AT,
  );
  return { figures, peakFlowMm3S: estimate.peakFlowMm3S };
}

/** More (or, negative, less) of one kind by a share of what there is. */
export function stretchKind(figures: LayerFigures, kind: number, share: number): void {
  for (const part of [VOLUME_AT, PATH_AT, SECONDS_AT]) figures[part + kind] *= 1 + share;
}

export function partVolume(figures: LayerFigures): number {
  let sum = 0;
  for (let k = 0; k < KINDS; k++) if (!REMOVED.includes(BEAD_KINDS[k])) sum += figures[VOLUME_AT + k];
  return sum;
}

/** Centre and inertia of a stack of layers, each an even mass over its height. */
export class StackedMass {
  private readonly sums = new Float64Array(10);

  add(figures: LayerFigures, zMm: number, heightMm: number): void {
    const [m, x, y, xx, yy, xy] = figures.subarray(BODY_AT, BODY_AT + 6);
    const terms = [m, x, y, m * zMm, xx, yy, m * (zMm * zMm + (heightMm * heightMm) / 12), xy, y * zMm, x * zMm];
    terms.forEach((term, i) => {
      this.sums[i] += term;
    });
  }

  centreMm(): Vec3 {
    const [m, x, y, z] = this.sums;
    return m === 0 ? [0, 0, 0] : [x / m, y / m, z / m];
  }

  inertiaGMm2(): Tensor {
    const [m, , , , sxx, syy, szz, sxy, syz, szx] = this.sums;
    const [x, y, z] = this.centreMm();
    const xx = sxx - m * x * x;
    const yy = syy - m * y * y;
    const zz = szz - m * z * z;
    return [yy + zz, xx + zz, xx + yy, m * x * y - sxy, m * y * z - syz, m * z * x - szx];
  }
}
