import type { Spool } from '@stonehand/model';
import { buyLeast, dropLeast, leastOnNew, openLeast, type SpoolNeed } from './pack-spools.ts';

export interface AssignSpoolsInput {
  readonly needs: readonly SpoolNeed[];
  readonly spools: readonly Spool[];
  /** grams of a spool that cannot be used; default 15 g: 5 m of 1.75 mm at 1.24 g/cm³, "last 5–10 m unusable" (common practice, no source) */
  readonly keepBackG?: number;
  /** net grams of a new spool by material; absent: nothing is bought, and what does not fit is left without */
  readonly newSpoolG?: Readonly<Record<string, number>>;
  /** 'leftovers' opens the least grams of shelf spools, so that full ones stay full; 'fewest' opens the least number */
  readonly prefer?: 'leftovers' | 'fewest';
  readonly rounds?: number;
  readonly seed?: number;
  /** asked between rounds; true ends the search with what was found */
  readonly stop?: () => boolean;
}

export type SpoolAssignment = Readonly<{
  /** spool id for each need that has one; new spools are "new <material> 1", … */
  spoolOf: Readonly<Record<string, string>>;
  newSpools: readonly Readonly<{ id: string; materialId: string }>[];
  opened: readonly string[];
  /** ids of the needs that no spool covers */
  without: readonly string[];
  /** no assignment with less left without, fewer new spools, or less opened exists */
  proven: boolean;
}>;

/** 5 m of 1.75 mm filament at 1.24 g/cm³ is 14.9 g. */
export const KEEP_BACK_G = 15;

/**
 * Which spool for which run, so that none runs out in the middle: every need comes from one spool, and a spool gives at most its
 * low estimate less what is kept back. First the least worth left without (or, when buying, the fewest new spools), then the
 * least opened. Exact for usual sizes (some 20 runs and 12 spools of a material); the result says so.
 */
export function assignSpools(input: AssignSpoolsInput): SpoolAssignment {
  const spoolOf: Record<string, string> = {};
  const newSpools: { id: string; materialId: string }[] = [];
  const opened: string[] = [];
  const without: string[] = [];
  let proven = true;
  for (const materialId of [...new Set(input.needs.map((need) => need.materialId))].sort()) {
    const answer = assignMaterial(materialId, input);
    Object.assign(spoolOf, answer.spoolOf);
    newSpools.push(...answer.newSpools);
    opened.push(...answer.opened);
    without.push(...answer.without);
    proven &&= answer.proven;
  }
  return { spoolOf, newSpools, opened, without, proven };
}

function assignMaterial(materialId: string, input: AssignSpoolsInput): SpoolAssignment {
  const { keepBackG = KEEP_BACK_G, prefer = 'leftovers', rounds = 200, seed = 1 } = input;
  const needs = input.needs.filter((need) => need.materialId === materialId);
  const shelf = input.spools
    .filter((spool) => spool.materialId === materialId && spool.lowG > keepBackG)
    .map((spool) => ({ id: spool.id, roomG: spool.lowG - keepBackG }))
    .sort((a, b) => b.roomG - a.roomG || (a.id < b.id ? -1 : 1));
  const newG = Math.max(0, (input.newSpoolG?.[materialId] ?? 0) - keepBackG);
  const largestG = Math.max(newG, shelf[0]?.roomG ?? 0);
  const possible = needs.filter((need) => need.massG <= largestG);
  const budget = { rounds, seed, stop: input.stop };
  const first =
    newG > 0 ? buyLeast(possible, shelf, newG, budget) : { ...dropLeast(possible, shelf, budget), bought: 0 };
  const kept = possible.filter((need) => !first.dropped.includes(need));
  const newNames = Array.from({ length: first.bought }, (_, k) => `new ${materialId} ${k + 1}`);
  // With leftovers first, what goes onto new spools is settled before the rest is laid on the shelf.
  const split = prefer === 'leftovers' && first.bought > 0;
  const fresh = split ? leastOnNew(kept, shelf, first, newG, budget) : undefined;
  const rest = fresh === undefined ? kept : kept.filter((need) => !fresh.needs.includes(need));
  const packing = fresh === undefined ? first : { ...first, bought: 0, binOf: fresh.shelfBinOf };
  const opened = openLeast(rest, shelf, packing, newG, prefer, budget);
  const names = [...opened.spools.map((spool) => spool.id), ...newNames];
  const used = new Set(opened.binOf);
  return {
    spoolOf: Object.fromEntries([
      ...rest.map((need, i) => [need.id, names[opened.binOf[i]!]!]),
      ...(fresh?.needs ?? []).map((need, i) => [need.id, newNames[fresh!.binOf[i]!]!]),
    ]),
    newSpools: newNames.map((id) => ({ id, materialId })),
    opened: opened.spools.filter((_, b) => used.has(b)).map((spool) => spool.id),
    without: [...needs.filter((need) => need.massG > largestG), ...first.dropped].map((need) => need.id),
    proven: first.proven && opened.proven && (fresh?.proven ?? true),
  };
}
