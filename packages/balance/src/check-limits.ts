import type { Figure, Limits, MassReport } from '@stonehand/model';
import type { Body } from './bodies.ts';
import { centreHalfWidth, type Doubt, halfWidths, LEVEL, spread } from './doubts.ts';
import { normalShare } from './normal.ts';

type LimitRow = MassReport['limits'][number];

/**
 * One row for each limit that is stated: value with interval, what is allowed, margin (negative when broken) and the chance
 * that it will be kept. The chance treats the figure as normal with the standard deviation that its interval implies on the
 * side of the limit; with no interval it is 1 or 0. A chance is about what is weighed here: what is in `missing` is not.
 * @param whole of what has a place; without any, limits on the centre have no row
 */
export function checkLimits(limits: Limits, massG: Figure, whole: Body, placed: readonly Doubt[]): LimitRow[] {
  const rows: LimitRow[] = [];
  if (limits.massG !== undefined) rows.push(row('mass at most', 'g', massG, limits.massG, 1));
  if (whole.massG === 0) return rows;
  const half = centreHalfWidth(placed, whole.massG, whole.centreMm);
  for (const [k, axis] of ['x', 'y', 'z'].entries()) {
    const value = whole.centreMm[k];
    const from = 'centre of what has a place';
    const figure: Figure =
      half[k] === 0 ? { value, from } : { value, low: value - half[k], high: value + half[k], level: LEVEL, from };
    const least = limits.centreMm?.min?.[k] ?? undefined;
    const most = limits.centreMm?.max?.[k] ?? undefined;
    if (least !== undefined) rows.push(row(`centre ${axis} at least`, 'mm', figure, least, -1));
    if (most !== undefined) rows.push(row(`centre ${axis} at most`, 'mm', figure, most, 1));
  }
  return rows;
}

/** side: 1 for an upper limit, −1 for a lower one. */
function row(limit: string, unit: string, value: Figure, allowed: number, side: 1 | -1): LimitRow {
  const margin = side * (allowed - value.value);
  const { below, above } = halfWidths(value);
  const towards = side * (margin >= 0 ? 1 : -1) > 0 ? above : below;
  const deviation = towards / spread(LEVEL);
  const chance = deviation === 0 ? (margin >= 0 ? 1 : 0) : normalShare(margin / deviation);
  return { limit, unit, value, allowed, margin, chance };
}
