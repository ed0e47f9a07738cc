import type { Random } from '@stonehand/base';
import { type Layout, lossAt } from './layout.ts';
import { touchingPlace } from './world.ts';

/** A place for one item and its weighted overlap there. */
export type Place = { variant: number; x: number; y: number; home: number; loss: number };

export type FindOptions = Readonly<{
  /** random places all over the containers */
  spread: number;
  /** places where it touches another item corner in corner */
  snug: number;
  /** random places around where the item lies now */
  near: number;
  /** how many of the best are refined */
  refined: number;
}>;

// Numbers of samples of the order that Gardeyn et al. 2025 (arXiv 2509.13329, section on the search of a placement) report.
const FIND_DEFAULTS: FindOptions = { spread: 40, snug: 0, near: 20, refined: 3 };

/**
 * The best place found for item i with everything else standing still: samples, then the best of them slide downhill.
 * Never worse than where it lies.
 */
export function findPlace(layout: Layout, i: number, random: Random, options: FindOptions = FIND_DEFAULTS): Place {
  const kept: Place[] = [];
  if (layout.home[i]! >= 0) {
    const here = { variant: layout.variant[i]!, x: layout.x[i]!, y: layout.y[i]!, home: layout.home[i]! };
    kept.push({ ...here, loss: lossAt(layout, i, here.variant, here.x, here.y, here.home, Infinity) });
  }
  for (let k = 0; k < options.spread; k++) sampleSpread(layout, i, random, kept, options.refined);
  for (let k = 0; k < options.snug; k++) sampleSnug(layout, i, random, kept, options.refined);
  if (layout.home[i]! >= 0) {
    for (let k = 0; k < options.near; k++) sampleNear(layout, i, random, kept, options.refined);
  }
  let best = kept[0]!;
  for (const place of kept) {
    refine(layout, i, place, random, 0.15, 0.005);
    if (place.loss < best.loss) best = place;
    if (best.loss === 0) break;
  }
  if (best.loss > 0) refine(layout, i, best, random, 0.005, 0.00002);
  return best;
}

function keep(kept: Place[], most: number, place: Place): void {
  let at = kept.length;
  while (at > 0 && kept[at - 1]!.loss > place.loss) at--;
  kept.splice(at, 0, place);
  if (kept.length > most) kept.pop();
}

function limitOf(kept: readonly Place[], most: number): number {
  return kept.length < most ? Infinity : kept[kept.length - 1]!.loss;
}

function sampleSpread(layout: Layout, i: number, random: Random, kept: Place[], most: number): void {
  const { world } = layout;
  const homes = layout.homesOf[i];
  const home = homes === undefined ? random.below(layout.open) : homes[random.below(homes.length)]!;
  const container = layout.containers[home]!;
  const shape = layout.shape[i]!;
  const first = world.firstVariant[shape]!;
  const variant = first + random.below(world.firstVariant[shape + 1]! - first);
  const wall = world.shapes[shape]!.wallMm;
  const x = within(
    container.x0 + wall - world.box[4 * variant]!,
    container.x1 - wall - world.box[4 * variant + 2]!,
    random,
  );
  const y = within(
    container.y0 + wall - world.box[4 * variant + 1]!,
    container.y1 - wall - world.box[4 * variant + 3]!,
    random,
  );
  const loss = lossAt(layout, i, variant, x, y, home, limitOf(kept, most));
  if (loss < limitOf(kept, most)) keep(kept, most, { variant, x, y, home, loss });
}

// Rectangles line up with one neighbour in x and another in y; other outlines seldom do.
const MIXED = 0.2;
const SNUG = new Float64Array(2);

/** Corner in corner with another item of the same container, or x with one and y with another. */
function sampleSnug(layout: Layout, i: number, random: Random, kept: Place[], most: number): void {
  const { world } = layout;
  const shape = layout.shape[i]!;
  const first = world.firstVariant[shape]!;
  const variant = first + random.below(world.firstVariant[shape + 1]! - first);
  const a = random.below(layout.all);
  const home = layout.home[a]!;
  if (a === i || home < 0 || layout.homesOf[i]?.includes(home) === false) return;
  if (!touchingPlace(world, variant, layout.variant[a]!, random.next(), SNUG)) return;
  const x = layout.x[a]! + SNUG[0]!;
  let y = layout.y[a]! + SNUG[1]!;
  const b = random.below(layout.all);
  if (
    random.next() < MIXED &&
    b !== i &&
    layout.home[b] === home &&
    touchingPlace(world, variant, layout.variant[b]!, random.next(), SNUG)
  ) {
    y = layout.y[b]! + SNUG[1]!;
  }
  const loss = lossAt(layout, i, variant, x, y, home, limitOf(kept, most));
  if (loss < limitOf(kept, most)) keep(kept, most, { variant, x, y, home, loss });
}

/** A number between two bounds; their middle when they are the wrong way round (the item is too large there). */
function within(low: number, high: number, random: Random): number {
  const share = random.next();
  return low <= high ? low + share * (high - low) : (low + high) / 2;
}

function sampleNear(layout: Layout, i: number, random: Random, kept: Place[], most: number): void {
  const { world } = layout;
  const shape = layout.shape[i]!;
  const first = world.firstVariant[shape]!;
  const turns = world.firstVariant[shape + 1]! - first;
  const variant = random.next() < 0.5 ? layout.variant[i]! : first + random.below(turns);
  const size = sizeOf(layout, layout.variant[i]!);
  const x = layout.x[i]! + 0.15 * size * random.normal();
  const y = layout.y[i]! + 0.15 * size * random.normal();
  const loss = lossAt(layout, i, variant, x, y, layout.home[i]!, limitOf(kept, most));
  if (loss < limitOf(kept, most)) keep(kept, most, { variant, x, y, home: layout.home[i]!, loss });
}

function sizeOf(layout: Layout, variant: number): number {
  const box = layout.world.box;
  return Math.max(box[4 * variant + 2]! - box[4 * variant]!, box[4 * variant + 3]! - box[4 * variant + 1]!);
}

/** Descent along x, y or a diagonal by steps that grow on success and halve on failure, from and to shares of the size. */
function refine(layout: Layout, i: number, place: Place, random: Random, from: number, to: number): void {
  const size = sizeOf(layout, place.variant);
  let step = from * size;
  const least = to * size;
  while (step > least && place.loss > 0) {
    const way = random.below(4);
    const dx = way === 1 ? 0 : step;
    const dy = way === 0 ? 0 : way === 3 ? -step : step;
    const ahead = lossAt(layout, i, place.variant, place.x + dx, place.y + dy, place.home, place.loss);
    const back =
      ahead === 0 ? Infinity : lossAt(layout, i, place.variant, place.x - dx, place.y - dy, place.home, place.loss);
    const sign = ahead <= back ? 1 : -1;
    const loss = Math.min(ahead, back);
    if (loss < place.loss) {
      place.x += sign * dx;
      place.y += sign * dy;
      place.loss = loss;
      step *= 1.1;
    } else {
      step *= 0.5;
    }
  }
}
