import type { Settled } from '@stonehand/model';
import { type Entry, given, listedEntries, textOf, textsOf } from './fields.ts';

/** The questions that stonehand.yaml says are settled; undefined where it says nothing of any. */
export function readSettled(main: Entry): readonly Settled[] | undefined {
  const settled = listedEntries(main, 'settled').flatMap((entry): Settled[] => {
    const [what, files] = [textOf(entry, 'what'), textsOf(entry, 'files')];
    if (what === undefined || files === undefined) return [];
    return [{ what, files, ...given({ part: textOf(entry, 'part'), why: textOf(entry, 'why') }) }];
  });
  return settled.length === 0 ? undefined : settled;
}
