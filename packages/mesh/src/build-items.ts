import { StonehandError } from '@stonehand/base';
import type { BuildItem, Placement } from '@stonehand/model';

/** An item of a build as it is asked for: its number from 1, what, under which name, and how it is placed. */
export type PlacedItem = Readonly<{ number: number; object: object; name: string; placement: Placement }>;

/** Distinct things of a build: the first item of each is the one to read. */
export type DistinctItem = BuildItem & Readonly<{ number: number }>;

/**
 * Items that ask for the same object, only moved and turned, are copies of one thing; a mirrored or rescaled one is another thing. Each
 * is addressed by the name of its object where no other thing has that name, else by the number of its first item, from 1.
 */
export function distinctItems(items: readonly PlacedItem[]): readonly DistinctItem[] {
  const groups: { first: PlacedItem; quantity: number }[] = [];
  for (const item of items) {
    const known = groups.length > MOST_COMPARED ? undefined : groups.find(({ first }) => isCopy(first, item));
    if (known === undefined) groups.push({ first: item, quantity: 1 });
    else known.quantity++;
  }
  const uses = new Map<string, number>();
  for (const { first } of groups) uses.set(first.name.trim(), (uses.get(first.name.trim()) ?? 0) + 1);
  return groups.map(({ first, quantity }) => {
    const { number } = first;
    const name = first.name.trim();
    const clear = name !== '' && !/^\d+$/.test(name) && uses.get(name) === 1;
    return { item: clear ? name : String(number), quantity, number };
  });
}

/**
 * The one that is meant.
 * @throws StonehandError DATA_UNKNOWN with what there is
 */
export function pickItem(file: string, items: readonly DistinctItem[], wanted: string): DistinctItem {
  const found = items.find(({ item, number }) => item === wanted.trim() || String(number) === wanted.trim());
  if (found !== undefined) return found;
  const known = items.map(({ item, number }) => (item === String(number) ? item : `${item} (${number})`));
  throw new StonehandError(
    'DATA_UNKNOWN',
    `${file}: no item "${wanted}" is to be built`,
    `The items are ${known.slice(0, MOST_NAMED).join(', ')}${known.length > MOST_NAMED ? ', …' : ''}.`,
  );
}

const MOST_NAMED = 12;
// Far more things than a person tells apart: beyond, every item is a thing of its own, or a hostile file would cost a square.
const MOST_COMPARED = 500;
// Entries of a transform are written with six digits as a rule: a turn is no more exact.
const TURN_SHARE = 1e-4;

function isCopy(a: PlacedItem, b: PlacedItem): boolean {
  return a.object === b.object && isTurned(a.placement, b.placement);
}

/** Whether b = turn · a for the parts without the shift. */
function isTurned(a: Placement, b: Placement): boolean {
  // Two matrices differ by a turn on the left when the dot products of their columns and the signs of their determinants agree.
  const [x, y] = [columns(a), columns(b)];
  const size = Math.max(...x.flat().map(Math.abs)) ** 2;
  for (let i = 0; i < 3; i++) {
    for (let j = i; j < 3; j++) if (Math.abs(dot(x[i], x[j]) - dot(y[i], y[j])) > TURN_SHARE * size) return false;
  }
  return Math.sign(triple(x)) === Math.sign(triple(y));
}

type Vector = readonly [number, number, number];

function columns(m: Placement): readonly [Vector, Vector, Vector] {
  return [
    [m[0], m[4], m[8]],
    [m[1], m[5], m[9]],
    [m[2], m[6], m[10]],
  ];
}

function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function triple([a, b, c]: readonly [Vector, Vector, Vector]): number {
  return a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
}
