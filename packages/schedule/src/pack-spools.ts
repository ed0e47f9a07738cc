import { binBound } from './bin-bound.ts';
import { fillBins } from './fill-bins.ts';

export type SpoolNeed = Readonly<{
  id: string;
  materialId: string;
  massG: number;
  /** what is lost without it; default its grams */
  worth?: number;
}>;

export type Budget = Readonly<{ rounds: number; seed: number; stop?: (() => boolean) | undefined }>;

/** Needs that are kept, in their order, packed onto the whole shelf and the bought spools. */
export type Packing = Readonly<{ dropped: readonly SpoolNeed[]; bought: number; binOf: Int32Array; proven: boolean }>;

const massesOf = (needs: readonly SpoolNeed[]): number[] => needs.map((need) => need.massG);
const total = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
const roomsOf = (spools: readonly Shelf[], bought: number, newG: number): number[] => [
  ...spools.map((spool) => spool.roomG),
  ...new Array<number>(bought).fill(newG),
];

export function buyLeast(needs: readonly SpoolNeed[], shelf: readonly Shelf[], newG: number, budget: Budget): Packing {
  const masses = massesOf(needs);
  const shelfG = total(shelf.map((spool) => spool.roomG));
  const loadBound = Math.max(0, Math.ceil((total(masses) - shelfG) / newG - 1e-9));
  const least = shelf.length === 0 ? binBound(masses, newG) : loadBound;
  const pack = (bought: number, rounds: number): ReturnType<typeof fillBins> =>
    fillBins(roomsOf(shelf, bought, newG), masses, { ...budget, rounds });
  // Up to the first number that simple ways reach, then down as long as the budget finds one fewer.
  let bought = least;
  let { binOf } = pack(bought, 0);
  while (binOf === undefined) binOf = pack(++bought, 0).binOf;
  let proven = false;
  while (bought > least && !proven) {
    const fewer = pack(bought - 1, budget.rounds);
    if (fewer.binOf === undefined && !fewer.exhausted) return { dropped: [], bought, binOf, proven: false };
    if (fewer.binOf === undefined) proven = true;
    else {
      binOf = fewer.binOf;
      bought--;
    }
  }
  return { dropped: [], bought, binOf, proven: true };
}

type Fresh = Readonly<{ needs: readonly SpoolNeed[]; binOf: Int32Array; shelfBinOf: Int32Array; proven: boolean }>;

/** The needs that go onto the bought spools, of least grams, so that the rest fits on the shelf. Complete up to 12 needs. */
export function leastOnNew(
  needs: readonly SpoolNeed[],
  shelf: readonly Shelf[],
  first: Packing,
  newG: number,
  budget: Budget,
): Fresh {
  const options = { rounds: Math.min(budget.rounds, 20), seed: budget.seed, nodes: 20_000 };
  const attempt = (onNew: readonly SpoolNeed[], onShelf: readonly SpoolNeed[]): Fresh | undefined => {
    const binOf = fillBins(roomsOf([], first.bought, newG), massesOf(onNew), options).binOf;
    if (binOf === undefined) return undefined;
    const shelfBinOf = fillBins(roomsOf(shelf, 0, 0), massesOf(onShelf), options).binOf;
    return shelfBinOf === undefined ? undefined : { needs: onNew, binOf, shelfBinOf, proven: true };
  };
  if (needs.length <= 12) {
    const leastG = total(massesOf(needs)) - total(shelf.map((spool) => spool.roomG));
    const masks = Array.from({ length: 1 << needs.length }, (_, mask) => mask);
    const grams = masks.map((mask) => total(needs.map((need, i) => ((mask & (1 << i)) === 0 ? 0 : need.massG))));
    masks.sort((a, b) => grams[a]! - grams[b]! || a - b);
    for (const mask of masks) {
      if (grams[mask]! < leastG - 1e-9) continue;
      const onNew = needs.filter((_, i) => (mask & (1 << i)) !== 0);
      const found = attempt(
        onNew,
        needs.filter((_, i) => (mask & (1 << i)) === 0),
      );
      if (found !== undefined) return found;
    }
  }
  // For many: the largest that fit go onto the shelf, unless the packing that is known already leaves less for the new ones.
  const known: Fresh = {
    needs: needs.filter((_, i) => first.binOf[i]! >= shelf.length),
    binOf: first.binOf.filter((bin) => bin >= shelf.length).map((bin) => bin - shelf.length),
    shelfBinOf: first.binOf.filter((bin) => bin < shelf.length),
    proven: false,
  };
  const onShelf = new Set<SpoolNeed>();
  for (const need of [...needs].sort((a, b) => b.massG - a.massG || (a.id < b.id ? -1 : 1))) {
    onShelf.add(need);
    const masses = massesOf(needs.filter((one) => onShelf.has(one)));
    if (fillBins(roomsOf(shelf, 0, 0), masses, options).binOf === undefined) onShelf.delete(need);
  }
  const greedy = attempt(
    needs.filter((one) => !onShelf.has(one)),
    needs.filter((one) => onShelf.has(one)),
  );
  if (greedy === undefined || total(massesOf(greedy.needs)) > total(massesOf(known.needs))) return known;
  return { ...greedy, proven: false };
}

/** Sets of shelf spools that are tried, at most; with this many the answer is kept as it is and not called proven. */
const MOST_SETS = 400;

export function openLeast(
  needs: readonly SpoolNeed[],
  shelf: readonly Shelf[],
  first: Packing,
  newG: number,
  prefer: 'leftovers' | 'fewest',
  budget: Budget,
): Readonly<{ spools: readonly Shelf[]; binOf: Int32Array; proven: boolean }> {
  if (shelf.length === 0) return { spools: shelf, binOf: first.binOf, proven: true };
  const masses = massesOf(needs);
  const least = total(masses) - first.bought * newG;
  let proven = prefer === 'fewest' || shelf.length <= ALL_SETS;
  let tried = 0;
  for (const spools of prefer === 'fewest' ? byCount(shelf) : byGrams(shelf)) {
    if (total(spools.map((spool) => spool.roomG)) < least - 1e-9) continue;
    if (++tried > MOST_SETS) break;
    const rooms = roomsOf(spools, first.bought, newG);
    const { binOf, exhausted } = fillBins(rooms, masses, {
      rounds: Math.min(budget.rounds, 20),
      seed: budget.seed,
      nodes: 20_000,
    });
    if (binOf !== undefined) return { spools, binOf, proven };
    proven &&= exhausted;
  }
  return { spools: shelf, binOf: first.binOf, proven: false };
}

export type Shelf = Readonly<{ id: string; roomG: number }>;

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
export function dropLeast(
  needs: readonly SpoolNeed[],
  shelf: readonly Shelf[],
  { rounds, seed }: Budget,
): Readonly<{ dropped: readonly SpoolNeed[]; binOf: Int32Array; proven: boolean }> {
  const rooms = roomsOf(shelf, 0, 0);
  const fits = (list: readonly SpoolNeed[], nodes = 20_000): ReturnType<typeof fillBins> =>
    fillBins(rooms, massesOf(list), { rounds: Math.min(rounds, 20), seed, nodes });
  const all = fits(needs, 200_000);
  if (all.binOf !== undefined) return { dropped: [], binOf: all.binOf, proven: true };
  const worthOf = (need: SpoolNeed): number => need.worth ?? need.massG;
  if (needs.length <= 12) {
    let proven = true;
    const masks = Array.from({ length: 1 << needs.length }, (_, mask) => mask);
    const lost = masks.map((mask) => total(needs.map((need, i) => ((mask & (1 << i)) === 0 ? 0 : worthOf(need)))));
    masks.sort((a, b) => lost[a]! - lost[b]! || a - b);
    for (const mask of masks) {
      const { binOf, exhausted } = fits(needs.filter((_, i) => (mask & (1 << i)) === 0));
      if (binOf !== undefined) return { dropped: needs.filter((_, i) => (mask & (1 << i)) !== 0), binOf, proven };
      proven &&= exhausted;
    }
  }
  // Most worth a gram first; what no longer fits is left out.
  const order = needs
    .map((need, i) => ({ need, i, rate: worthOf(need) / need.massG }))
    .sort((a, b) => b.rate - a.rate || b.need.massG - a.need.massG || a.i - b.i);
  const taken = new Set<SpoolNeed>();
  let binOf = new Int32Array(0);
  for (const { need } of order) {
    taken.add(need);
    const filling = fits(needs.filter((candidate) => taken.has(candidate)));
    if (filling.binOf === undefined) taken.delete(need);
    else binOf = Int32Array.from(filling.binOf);
  }
  return { dropped: needs.filter((need) => !taken.has(need)), binOf, proven: false };
}
