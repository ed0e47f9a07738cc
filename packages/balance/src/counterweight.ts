import type { MassReport, Vec3 } from '@stonehand/model';

export type Counterweight = Readonly<{ massG: number; centreMm: Vec3 }>;

/**
 * The grams that, put at a place, bring the centre to a wanted coordinate on one axis, and the centre then.
 * @returns undefined when the place lies on the wrong side (or exactly at the wanted coordinate)
 */
export function counterweight(
  report: Pick<MassReport, 'massG' | 'centreMm'>,
  axis: 0 | 1 | 2,
  { wantedMm, atMm }: Readonly<{ wantedMm: number; atMm: Vec3 }>,
): Counterweight | undefined {
  const total = report.massG.value;
  const off = report.centreMm[axis] - wantedMm;
  if (off === 0) return { massG: 0, centreMm: report.centreMm };
  const arm = wantedMm - atMm[axis];
  const massG = (total * off) / arm;
  if (!(massG > 0) || !Number.isFinite(massG)) return undefined;
  const at = (k: number): number => (total * report.centreMm[k] + massG * atMm[k]) / (total + massG);
  return { massG, centreMm: [at(0), at(1), at(2)] };
}
