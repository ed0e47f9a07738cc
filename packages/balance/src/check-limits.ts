import type { Figure, Limits, MassReport, Vec3 } from '@stonehand/model';
import { type Body, inertiaAbout } from './bodies.ts';
import { type Doubt, halfWidthOf, halfWidths, LEVEL, spread } from './doubts.ts';
import { limitForms, type State } from './limit-forms.ts';
import { normalShare } from './normal.ts';

type LimitRow = MassReport['limits'][number];

/**
 * One row for each limit that is stated: value with interval, what is allowed, margin (negative when broken) and the chance
 * that it will be kept. The chance treats the figure as normal with the standard deviation that its interval implies on the
 * side of the limit; with no interval it is 1 or 0. A chance is about what is weighed here: what is in `missing` is not.
 * @param whole of what has a place; without any, only the mass has a row
 */
export function checkLimits(limits: Limits, massG: Figure, whole: Body, placed: readonly Doubt[]): LimitRow[] {
  const state = stateOf(massG.value, whole);
  return limitForms(limits).flatMap((form): LimitRow[] => {
    const { limit, unit, allowed, side, about } = form;
    if (form.unit === 'g') return [row(limit, unit, massG, allowed, side)];
    if (whole.massG === 0) return [];
    const value = form.value(state);
    const half = halfWidthOf(placed, (doubt) => slope(form.value, state, doubt));
    const from = 'centre of what has a place';
    const figure: Figure =
      half === 0 ? { value, from } : { value, low: value - half, high: value + half, level: LEVEL, from };
    const turning = about === undefined ? {} : { inertiaGMm2: inertiaAbout(whole, about) };
    return [{ ...row(limit, unit, figure, allowed, side), ...turning }];
  });
}

export function stateOf(allG: number, { massG: placedG, centreMm: c }: Body): State {
  return { allG, placedG, firstGMm: [c[0] * placedG, c[1] * placedG, c[2] * placedG] };
}

/** A hundred-thousandth of the mass either way: the third derivative is then nothing, and ten digits are left. */
const STEP = 1e-5;

/** Change of a figure for a gram more at the doubt's place. */
function slope(value: (state: State) => number, state: State, { centreMm: c }: Doubt): number {
  const step = STEP * state.placedG;
  const moved = (massG: number): State => {
    const first = state.firstGMm.map((s, k) => s + massG * c[k]);
    return {
      allG: state.allG + massG,
      placedG: state.placedG + massG,
      firstGMm: [first[0], first[1], first[2]] as Vec3,
    };
  };
  return (value(moved(step)) - value(moved(-step))) / (2 * step);
}

function row(limit: string, unit: string, value: Figure, allowed: number, side: 1 | -1): LimitRow {
  const margin = side * (allowed - value.value);
  const { below, above } = halfWidths(value);
  const towards = side * (margin >= 0 ? 1 : -1) > 0 ? above : below;
  const deviation = towards / spread(LEVEL);
  const chance = deviation === 0 ? (margin >= 0 ? 1 : 0) : normalShare(margin / deviation);
  return { limit, unit, value, allowed, margin, chance };
}
