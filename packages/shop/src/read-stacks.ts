import type { Height, Stack } from '@stonehand/model';
import {
  childOf,
  complain,
  coordinateAt,
  type Entry,
  given,
  lengthOf,
  listedEntries,
  listOf,
  namedEntries,
  numberOf,
  rangeOf,
  rawOf,
  textOf,
} from './fields.ts';
import { type Known, mustBeHardware } from './known-names.ts';
import { partIdOf } from './read-part.ts';

type PartName = (name: string, entry: Entry) => string;

/** Stacks of items along an axis, each under its id. */
export function readStacks(
  entry: Entry,
  folder: string,
  known: Known,
  partName: PartName,
): readonly Stack[] | undefined {
  const stacks = namedEntries(childOf(entry, 'stacks')).flatMap(([id, stack]): Stack[] => {
    const within = readHeight(childOf(stack, 'within'), known);
    const items = listedEntries(stack, 'items').flatMap((item): Stack['items'] => {
      const height = readHeight(item, known);
      if (height === undefined) return [];
      const part = textOf(item, 'part');
      return [
        {
          ...height,
          count: numberOf(item, 'count') ?? 1,
          ...given({ partId: part === undefined ? undefined : partName(part, item) }),
        },
      ];
    });
    const gapMm = rangeOf(stack, 'gap');
    if (within === undefined || gapMm === undefined || items.length === 0) return [];
    const spacer = rawOf(stack, 'spacer') === undefined ? undefined : readHeight(childOf(stack, 'spacer'), known);
    return [{ id: partIdOf(folder, id), within, items, gapMm, ...given({ spacer }) }];
  });
  return stacks.length === 0 ? undefined : stacks;
}

function readHeight(entry: Entry, known: Known): Height | undefined {
  const itemId = textOf(entry, 'item');
  if (itemId !== undefined && !mustBeHardware(entry, ['item'], itemId, known)) return undefined;
  const own = itemId === undefined ? undefined : known.hardware.get(itemId)?.size?.heightMm;
  const heightMm = lengthOf(entry, 'height') ?? own;
  if (heightMm === undefined) {
    const remedy = itemId === undefined ? 'Write height: 8.5.' : 'Write its height, here or in shop/hardware.yaml.';
    complain(entry, [], 'DATA_INVALID', 'no height is stated', remedy);
    return undefined;
  }
  const range = listOf(entry, 'tolerance').length === 2 ? rangeOf(entry, 'tolerance') : undefined;
  const both = range === undefined ? Math.abs(coordinateAt(entry, ['tolerance']) ?? 0) : 0;
  return {
    what: textOf(entry, 'what') ?? itemId ?? textOf(entry, 'part') ?? 'space',
    heightMm,
    plusMm: range === undefined ? both : range[1],
    minusMm: range === undefined ? both : -range[0],
  };
}
