import { parseMassG, StonehandError } from '@stonehand/base';
import type { Material, Spool } from '@stonehand/model';
import {
  complain,
  type Entry,
  flagOf,
  given,
  massOf,
  momentOf,
  mustBeKnown,
  namedEntries,
  rawOf,
  textOf,
} from './fields.ts';

/**
 * Empty spools for 1 kg, g: lowest and highest. plastic, card and refill from memory; a published collection of weights
 * (2020) gives 250 g on average for plastic ones.
 */
export const EMPTY_SPOOLS: Readonly<Record<'plastic' | 'card' | 'refill' | 'unknown', readonly [number, number]>> = {
  plastic: [180, 290],
  card: [130, 200],
  refill: [30, 60],
  unknown: [130, 290],
};

/** A spool as the file says, with the moment it was counted. */
export type CountedSpool = Spool & Readonly<{ counted?: string }>;

/** The spools of shop/spools.yaml: what is left, with an interval where the empty spool is only known by its kind. */
export function readSpools(file: Entry, materials: readonly Material[]): CountedSpool[] {
  const known = materials.map((material) => material.id);
  return namedEntries(file).flatMap(([id, entry]) => {
    const materialId = textOf(entry, 'material');
    if (materialId === undefined) return [];
    mustBeKnown(entry, ['material'], materialId, known, 'material', `Add "${materialId}" to shop/materials.yaml.`);
    const left = readLeft(entry);
    if (left === undefined) return [];
    return [
      {
        id,
        materialId,
        ...left,
        ...given({ lot: textOf(entry, 'lot'), counted: momentOf(entry, 'counted'), dry: flagOf(entry, 'dry') }),
      },
    ];
  });
}

type Left = Pick<Spool, 'netG' | 'lowG' | 'highG' | 'from' | 'emptyG'>;

function readLeft(entry: Entry): Left | undefined {
  const [net, gross] = [massOf(entry, 'net'), massOf(entry, 'gross')];
  const [saysNet, saysGross] = [rawOf(entry, 'net') !== undefined, rawOf(entry, 'gross') !== undefined];
  if (saysNet === saysGross) {
    const what = saysNet ? 'both net and gross are given' : 'neither net nor gross is given';
    complain(entry, [], 'DATA_INVALID', what, 'Write net, the filament left, or gross, the whole spool on the scale.');
    return undefined;
  }
  if (net !== undefined) return { netG: net, lowG: net, highG: net, from: 'net, as stated' };
  if (gross === undefined) return undefined;
  const empty = readEmpty(entry);
  if (empty === undefined) return undefined;
  const [low, high] = empty.g;
  if (gross < low) {
    complain(
      entry,
      ['gross'],
      'DATA_INVALID',
      `${gross} g is less than the empty spool (${low} g)`,
      'Weigh the whole spool, or write net.',
    );
    return undefined;
  }
  return {
    netG: Math.max(0, gross - (low + high) / 2),
    lowG: Math.max(0, gross - high),
    highG: gross - low,
    from: `gross ${gross} g less ${empty.says}`,
    emptyG: [low, high],
  };
}

function readEmpty(entry: Entry): { g: readonly [number, number]; says: string } | undefined {
  const value = rawOf(entry, 'empty') ?? 'unknown';
  if (typeof value === 'string' && Object.hasOwn(EMPTY_SPOOLS, value)) {
    const g = EMPTY_SPOOLS[value as keyof typeof EMPTY_SPOOLS];
    const what = value === 'unknown' ? 'an empty spool of unknown kind' : `an empty ${value} spool`;
    return { g, says: `${what} (${g[0]} to ${g[1]} g)` };
  }
  if (typeof value !== 'string' && typeof value !== 'number') return undefined;
  try {
    const mass = parseMassG(value);
    return { g: [mass, mass], says: `the empty spool's ${mass} g` };
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    const kinds = Object.keys(EMPTY_SPOOLS).join(', ');
    complain(
      entry,
      ['empty'],
      'UNIT_INVALID',
      `"${value}" is neither a mass nor a kind of empty spool`,
      `Write its mass, or one of ${kinds}.`,
    );
    return undefined;
  }
}
