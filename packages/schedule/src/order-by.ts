import type { Buy, Instant, Material, Run } from '@stonehand/model';
import { toEpochS } from './moment.ts';
import { PURGE_G } from './schedule-types.ts';
import type { FilamentNeed } from './shopping-list.ts';

const DAY_S = 86_400;

export type OrderByInput = Readonly<{
  /** a plan in which nothing waits for filament */
  runs: readonly Run[];
  needOf: (plateId: string, printerId: string) => FilamentNeed;
  materials: readonly Material[];
  from: Instant;
}>;

/**
 * When the shelf no longer holds enough for the next run, and so by which day to order: that many days of lead earlier, as a local
 * date. `late` when that day is before the plan begins. Nothing when nothing is to buy or the lead is unknown.
 */
export function orderBy(
  { materialId, shelfG, spools }: Buy,
  { runs, needOf, materials, from }: OrderByInput,
): Pick<Buy, 'neededAt' | 'orderBy' | 'leadDays' | 'late'> {
  if (spools === 0) return {};
  let left = shelfG;
  const planned = runs.filter(({ state }) => state === 'planned').sort((a, b) => toEpochS(a.start) - toEpochS(b.start));
  for (const run of planned) {
    const need = needOf(run.plateId, run.printerId);
    if (need.materialId !== materialId) continue;
    left -= (need.massG.high ?? need.massG.value) + PURGE_G;
    if (left < 0) return { neededAt: run.attendFrom, ...leadBefore(run.attendFrom, materialId, materials, from) };
  }
  // Enough if nothing fails: by then the last run that draws it should have what failures may take.
  const last = planned.findLast((run) => needOf(run.plateId, run.printerId).materialId === materialId);
  return last === undefined
    ? {}
    : { neededAt: last.attendFrom, ...leadBefore(last.attendFrom, materialId, materials, from) };
}

function leadBefore(
  neededAt: Instant,
  materialId: string,
  materials: readonly Material[],
  from: Instant,
): Pick<Buy, 'orderBy' | 'leadDays' | 'late'> {
  const leadDays = materials.find(({ id }) => id === materialId)?.leadDays;
  if (leadDays === undefined) return {};
  const at = new Date(1000 * (toEpochS(neededAt) - leadDays * DAY_S)).toISOString();
  return { leadDays, orderBy: at.slice(0, 10), ...(Date.parse(at) < 1000 * toEpochS(from) ? { late: true } : {}) };
}
