import type { Amount, BeadKind, Estimate, Figure } from '@stonehand/model';
import { type Calibration, type Factor, factorOf, groupFactors, type Shares } from './calibrate.ts';

/** What the record taught about a material's grams and a printer's minutes. */
export type Learnt = Readonly<{ mass: Calibration; time: Calibration }>;

/** What of an estimate a calibration changes: rows of a table have no layers. */
type Calibrated = Pick<Estimate, 'massG' | 'durationS' | 'partG' | 'byKind'> &
  Partial<Pick<Estimate, 'bound' | 'filamentMm' | 'price' | 'layerG' | 'inertiaGMm2' | 'timeFactor' | 'massFactor'>>;

const GROUPS: Readonly<Partial<Record<BeadKind, keyof Shares>>> = {
  outerPerimeter: 'walls',
  innerPerimeter: 'walls',
  solid: 'fill',
  bridge: 'fill',
  infill: 'fill',
  support: 'support',
  contact: 'support',
  brim: 'support',
  purge: 'support',
};

/** Shares of the total that lie in walls, fill and support. */
export function sharesOf(byKind: readonly Amount[], of: 'massG' | 'durationS', total: number): Shares {
  const sums = { walls: 0, fill: 0, support: 0 };
  for (const amount of byKind) {
    const group = GROUPS[amount.kind];
    if (group !== undefined) sums[group] += amount[of];
  }
  const share = (sum: number): number => (total > 0 ? sum / total : 0);
  return { walls: share(sums.walls), fill: share(sums.fill), support: share(sums.support) };
}

/**
 * An estimate as the record corrects it: grams, metres and price by the material's factor, seconds by the printer's, each with the interval that the
 * record supports. What has no record keeps the stated prior. layerS stays as the motion model gives it; `timeFactor` is what a plate of several
 * copies multiplies with.
 */
export function calibrated<E extends Calibrated>(estimate: E, { mass, time }: Learnt): E {
  return withTime(withMass(estimate, mass), time);
}

function withMass<E extends Calibrated>(estimate: E, mass: Calibration): E {
  if (mass.records === 0) return estimate;
  const { massG, byKind, partG } = estimate;
  const factor = factorOf(mass, sharesOf(byKind, 'massG', massG.value));
  const kept = byKind.filter(({ kind }) => GROUPS[kind] !== 'support');
  const part = factorOf(mass, sharesOf(kept, 'massG', partG)).value;
  const scaled = (value: number | undefined, by: number): number | undefined =>
    value === undefined ? undefined : value * by;
  return {
    ...estimate,
    massG: corrected(massG, factor, mass.records, estimate.bound?.mass),
    partG: partG * part,
    byKind: byKindCorrected(byKind, 'massG', mass),
    massFactor: factor.value,
    ...given('filamentMm', scaled(estimate.filamentMm, factor.value)),
    ...given('price', scaled(estimate.price, factor.value)),
    ...given(
      'layerG',
      estimate.layerG?.map((g) => g * factor.value),
    ),
    ...given(
      'inertiaGMm2',
      estimate.inertiaGMm2?.map((g) => g * part),
    ),
  };
}

function withTime<E extends Calibrated>(estimate: E, time: Calibration): E {
  if (time.records === 0) return estimate;
  const { durationS, byKind } = estimate;
  const factor = factorOf(time, sharesOf(byKind, 'durationS', durationS.value));
  return {
    ...estimate,
    durationS: corrected(durationS, factor, time.records, estimate.bound?.time),
    byKind: byKindCorrected(byKind, 'durationS', time),
    timeFactor: factor.value,
  };
}

const given = (key: string, value: unknown): object => (value === undefined ? {} : { [key]: value });

/** The record knows of prints that were worked out in full; what a quicker depth may be off by comes on top. */
function corrected({ value, from }: Figure, factor: Factor, records: number, depthShare = 0): Figure {
  return {
    value: value * factor.value,
    low: value * (factor.low - depthShare * factor.value),
    high: value * (factor.high + depthShare * factor.value),
    level: factor.level,
    from: `${from}, corrected by ${records} ${records === 1 ? 'print' : 'prints'}`,
  };
}

/** Each kind by its own group's factor; travel by the common one. */
function byKindCorrected(byKind: readonly Amount[], of: 'massG' | 'durationS', calibration: Calibration): Amount[] {
  const factors = groupFactors(calibration);
  return byKind.map((amount) => {
    const group = GROUPS[amount.kind];
    return { ...amount, [of]: amount[of] * (group === undefined ? factors.common : factors[group]) };
  });
}
