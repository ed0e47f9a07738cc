import type { HardwareItem } from '@stonehand/model';
import { childOf, durationOf, type Entry, flagOf, given, massOf, namedEntries, numberOf, textOf } from './fields.ts';
import { readSize } from './read-fits.ts';

const DAY_S = 86_400;

/** The bought items of shop/hardware.yaml. */
export function readHardware(file: Entry): HardwareItem[] {
  return namedEntries(file).flatMap(([id, entry]) => {
    const massG = massOf(entry, 'mass');
    if (massG === undefined) return [];
    const leadS = durationOf(entry, 'leadTime');
    const item: HardwareItem = {
      id,
      name: textOf(entry, 'name') ?? id,
      massG,
      massFrom: 'as stated in hardware.yaml',
      magnetic: flagOf(entry, 'magnetic') ?? false,
      ...given({
        price: numberOf(entry, 'price'),
        leadDays: leadS === undefined ? undefined : leadS / DAY_S,
        note: textOf(entry, 'note'),
        size: readSize(childOf(entry, 'size')),
      }),
    };
    return [item];
  });
}
