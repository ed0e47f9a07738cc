import type { Spool } from '@stonehand/model';
import { binBound, fillBins } from './fill-bins.ts';

export type SpoolNeed = Readonly<{
  id: string;
  materialId: string;
  massG: number;
  /** what is lost without it; default its grams */
  worth?: number;
}>;

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
  const newG = (input.newSpoolG?.[materialId] ?? 0) - keepBackG;
  const buys = newG > 0;
  const largestG = Math.max(buys ? newG : 0, shelf[0]?.roomG ?? 0);
  const tooLarge = needs.filter((need) => need.massG > largestG);
  let kept = needs.filter((need) => need.massG <= largestG);
  let proven = true;
  let bought = 0;
  const sizesOf = (list: readonly SpoolNeed[]): number[] => list.map((need) => need.massG);
  const rooms = (spools: readonly { roomG: number }[], news: number): number[] => [
    ...spools.map((spool) => spool.roomG),
    ...new Array<number>(news).fill(newG),
  ];
  let dropped: readonly SpoolNeed[] = [];
  if (buys) {
    const shelfG = shelf.reduce((total, spool) => total + spool.roomG, 0);
    bought =
      shelf.length === 0
        ? binBound(sizesOf(kept), newG)
        : Math.max(0, Math.ceil((sizesOf(kept).reduce((a, b) => a + b, 0) - shelfG) / newG - 1e-9));
    for (; bought < kept.length; bought++) {
      const filling = fillBins(rooms(shelf, bought), sizesOf(kept), { rounds, seed });
      if (filling.binOf !== undefined) break;
      proven &&= filling.exhausted;
    }
  } else {
    const choice = dropLeast(rooms(shelf, 0), kept, rounds, seed);
    dropped = choice.dropped;
    kept = kept.filter((need) => !dropped.includes(need));
    proven &&= choice.proven;
  }
  if (prefer === 'leftovers' && shelf.length > ALL_SETS) proven = false;
  const subsets = prefer === 'fewest' ? byCount(shelf) : byGrams(shelf);
  const least = sizesOf(kept).reduce((a, b) => a + b, 0) - bought * newG;
  let answer: { spools: readonly Shelf[]; binOf: Int32Array } | undefined;
  for (const spools of subsets) {
    if (spools.reduce((total, spool) => total + spool.roomG, 0) < least - 1e-9) continue;
    const filling = fillBins(rooms(spools, bought), sizesOf(kept), { rounds: Math.min(rounds, 20), seed });
    if (filling.binOf !== undefined) {
      answer = { spools, binOf: filling.binOf };
      break;
    }
    proven &&= filling.exhausted;
  }
  if (answer === undefined) {
    const filling = fillBins(rooms(shelf, bought), sizesOf(kept), { rounds, seed });
    answer = { spools: shelf, binOf: filling.binOf ?? new Int32Array(kept.length).fill(-1) };
    proven = false;
  }
  const names = [
    ...answer.spools.map((spool) => spool.id),
    ...Array.from({ length: bought }, (_, k) => `new ${materialId} ${k + 1}`),
  ];
  const used = new Set(answer.binOf);
  const spoolOf: Record<string, string> = {};
  const unplaced: string[] = [];
  kept.forEach((need, i) => {
    const bin = answer.binOf[i]!;
    if (bin < 0) unplaced.push(need.id);
    else spoolOf[need.id] = names[bin]!;
  });
  return {
    spoolOf,
    newSpools: names.slice(answer.spools.length).map((id) => ({ id, materialId })),
    opened: answer.spools.filter((_, b) => used.has(b)).map((spool) => spool.id),
    without: [...tooLarge.map((need) => need.id), ...dropped.map((need) => need.id), ...unplaced],
    proven,
  };
}

type Shelf = Readonly<{ id: string; roomG: number }>;

// For the least number it is enough to try the k fullest: whatever fits on k spools fits on the k fullest.
function* byCount(shelf: readonly Shelf[]): Generator<readonly Shelf[]> {
  for (let k = 0; k <= shelf.length; k++) yield shelf.slice(0, k);
}

/** Above this many spools of a material the sets are not all tried: the emptiest are opened first. */
const ALL_SETS = 12;

function* byGrams(shelf: readonly Shelf[]): Generator<readonly Shelf[]> {
  if (shelf.length > ALL_SETS) {
    for (let k = 0; k <= shelf.length; k++) yield shelf.slice(shelf.length - k);
    return;
  }
  const sets = Array.from({ length: 1 << shelf.length }, (_, mask) => shelf.filter((_, b) => (mask & (1 << b)) !== 0));
  const grams = sets.map((set) => set.reduce((total, spool) => total + spool.roomG, 0));
  const order = sets
    .map((_, i) => i)
    .sort((a, b) => grams[a]! - grams[b]! || sets[a]!.length - sets[b]!.length || a - b);
  for (const i of order) yield sets[i]!;
}

/** Which needs to leave out so that the rest can be packed, least worth first; complete up to 12 needs, else the cheapest one by one. */
function dropLeast(
  rooms: readonly number[],
  needs: readonly SpoolNeed[],
  rounds: number,
  seed: number,
): { dropped: readonly SpoolNeed[]; proven: boolean } {
  const fits = (list: readonly SpoolNeed[]): ReturnType<typeof fillBins> =>
    fillBins(
      rooms,
      list.map((need) => need.massG),
      { rounds: Math.min(rounds, 20), seed },
    );
  const all = fits(needs);
  if (all.binOf !== undefined) return { dropped: [], proven: true };
  const worthOf = (need: SpoolNeed): number => need.worth ?? need.massG;
  if (needs.length <= 12) {
    let proven = true;
    const masks = Array.from({ length: 1 << needs.length }, (_, mask) => mask);
    const lost = masks.map((mask) =>
      needs.reduce((total, need, i) => total + ((mask & (1 << i)) === 0 ? 0 : worthOf(need)), 0),
    );
    masks.sort((a, b) => lost[a]! - lost[b]! || a - b);
    for (const mask of masks) {
      const filling = fits(needs.filter((_, i) => (mask & (1 << i)) === 0));
      if (filling.binOf !== undefined) return { dropped: needs.filter((_, i) => (mask & (1 << i)) !== 0), proven };
      proven &&= filling.exhausted;
    }
  }
  // Most worth a gram first; what no longer fits is left out.
  const order = needs
    .map((need, i) => ({ need, i }))
    .sort(
      (a, b) =>
        worthOf(b.need) / b.need.massG - worthOf(a.need) / a.need.massG || b.need.massG - a.need.massG || a.i - b.i,
    );
  const taken: SpoolNeed[] = [];
  const dropped: SpoolNeed[] = [];
  for (const { need } of order) {
    if (fits([...taken, need]).binOf !== undefined) taken.push(need);
    else dropped.push(need);
  }
  return { dropped, proven: false };
}
