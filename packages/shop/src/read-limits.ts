import { StonehandError } from '@stonehand/base';
import type { Limits, MomentLimit } from '@stonehand/model';
import {
  childOf,
  complain,
  coordinateAt,
  type Entry,
  flagOf,
  given,
  lengthOf,
  listOf,
  massOf,
  namedEntries,
  numberOf,
  pointAt,
  rawOf,
  textOf,
} from './fields.ts';
import { parseMomentNmm } from './parse-moment-of-force.ts';
import { readDirection } from './read-place.ts';

/** What an assembly must keep. */
export function readLimits(entry: Entry): Limits {
  const centre = childOf(entry, 'centre');
  const ranges = ['x', 'y', 'z'].map((axis) => readRange(centre, axis));
  const stated = ranges.some((range) => range !== undefined);
  const moments = namedEntries(childOf(entry, 'moments')).flatMap(([name, moment]) => readMoment(name, moment) ?? []);
  return given({
    massG: massOf(entry, 'mass'),
    centreMm: stated ? { min: ranges.map((r) => r?.[0] ?? null), max: ranges.map((r) => r?.[1] ?? null) } : undefined,
    centreNear: readNear(childOf(entry, 'centreNear')),
    moments: moments.length === 0 ? undefined : moments,
    tipping: readTipping(childOf(entry, 'tipping')),
    down: axisOf(entry, 'down'),
  });
}

function readRange(centre: Entry, axis: string): readonly [number | null, number | null] | undefined {
  if (listOf(centre, axis).length !== 2) return undefined;
  const [low, high] = [coordinateAt(centre, [axis, 0]) ?? null, coordinateAt(centre, [axis, 1]) ?? null];
  if (low !== null && high !== null && low > high) {
    complain(
      centre,
      [axis],
      'DATA_INVALID',
      `the range of ${axis} ends before it begins`,
      'Write the smaller number first.',
    );
  }
  return [low, high];
}

function readNear(entry: Entry): Limits['centreNear'] {
  const [atMm, radiusMm] = [pointAt(entry, ['at']), lengthOf(entry, 'radius')];
  if (atMm === undefined || radiusMm === undefined) return undefined;
  return { atMm, radiusMm, ...given({ axis: axisOf(entry, 'axis') }) };
}

function readMoment(name: string, entry: Entry): MomentLimit | undefined {
  const [atMm, axis, mostNmm] = [pointAt(entry, ['at']), axisOf(entry, 'axis'), momentOf(entry, 'most')];
  if (atMm === undefined || axis === undefined || mostNmm === undefined) return undefined;
  return { name, atMm, axis, mostNmm, swings: flagOf(entry, 'swings') ?? false };
}

function momentOf(entry: Entry, key: string): number | undefined {
  const text = textOf(entry, key);
  if (text === undefined) return undefined;
  try {
    return parseMomentNmm(text);
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    complain(entry, [key], cause.code, `"${key}": ${cause.message}`, cause.remedy);
    return undefined;
  }
}

function axisOf(entry: Entry, key: string): Limits['down'] {
  if (rawOf(entry, key) === undefined) return undefined;
  const axis = readDirection(entry, [key]);
  if (axis === undefined)
    complain(
      entry,
      [key],
      'DATA_INVALID',
      'the axis has no direction',
      'Write x, y, z or three numbers that are not all 0.',
    );
  return axis;
}

function readTipping(entry: Entry): Limits['tipping'] {
  const leastDeg = numberOf(entry, 'lean');
  const pointsMm = listOf(entry, 'points').flatMap((_, i) => {
    const point = pointAt(entry, ['points', i]);
    return point === undefined ? [] : [point];
  });
  return leastDeg === undefined || pointsMm.length < 3 ? undefined : { pointsMm, leastDeg };
}
