import type { FitWish, HardwareSize } from '@stonehand/model';
import {
  complain,
  type Entry,
  given,
  lengthOf,
  listedEntries,
  pointAt,
  rangeOf,
  rawOf,
  textOf,
  wordOf,
} from './fields.ts';
import { type Known, mustBeHardware } from './known-names.ts';

const WORDS = ['press', 'snug', 'sliding', 'loose', 'clearance'] as const;

/** Bought items that sit in a part's bores and pockets. */
export function readFits(entry: Entry, known: Known): readonly FitWish[] | undefined {
  const wishes = listedEntries(entry, 'fits').flatMap((one): FitWish[] => {
    const itemId = textOf(one, 'item');
    const gapMm = rangeOf(one, 'fit');
    const fit = gapMm === undefined ? wordOf(one, 'fit', WORDS) : { gapMm };
    if (itemId === undefined || fit === undefined || !mustBeHardware(one, ['item'], itemId, known)) return [];
    const on = wordOf(one, 'on', ['bore', 'boss'] as const) ?? 'bore';
    const size = known.hardware.get(itemId)?.size;
    if (!canFit(one, itemId, size, on, fit)) return [];
    return [{ itemId, fit, on, ...given({ atMm: rawOf(one, 'at') === undefined ? undefined : pointAt(one, ['at']) }) }];
  });
  return wishes.length === 0 ? undefined : wishes;
}

function canFit(
  entry: Entry,
  itemId: string,
  size: HardwareSize | undefined,
  on: FitWish['on'],
  fit: FitWish['fit'],
): boolean {
  if (size === undefined) {
    const remedy = 'State its size in shop/hardware.yaml: size: { outside: 22, height: 7 }.';
    complain(entry, ['item'], 'DATA_INVALID', `the size of "${itemId}" is not known`, remedy);
  } else if (on === 'boss' && size.insideMm === undefined) {
    complain(entry, ['on'], 'DATA_INVALID', `"${itemId}" has no inside that goes over a boss`, 'Leave out: on.');
  } else if (fit === 'clearance' && size.clearanceMm === undefined) {
    const remedy = 'Write press, snug, sliding or loose.';
    complain(entry, ['fit'], 'DATA_INVALID', `clearance is for screws and threaded rods, not for "${itemId}"`, remedy);
  } else return true;
  return false;
}

/** size: { outside: 22, inside: 8, height: 7 } of shop/hardware.yaml. */
export function readSize(entry: Entry): HardwareSize | undefined {
  const outsideMm = lengthOf(entry, 'outside');
  if (outsideMm === undefined) return undefined;
  return {
    shape: entry.raw['hexagon'] === true ? 'hexagon' : 'round',
    outsideMm,
    ...given({
      insideMm: lengthOf(entry, 'inside'),
      heightMm: lengthOf(entry, 'height'),
      magnet: entry.raw['magnet'] === true ? true : undefined,
    }),
    from: 'as stated in hardware.yaml',
  };
}
