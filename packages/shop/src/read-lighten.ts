import { parseLengthMm, StonehandError } from '@stonehand/base';
import type { LightenRule } from '@stonehand/model';
import {
  childOf,
  complain,
  type Entry,
  given,
  listOf,
  mustBeKnown,
  numberOf,
  rawOf,
  shareOf,
  textsOf,
} from './fields.ts';
import type { Known } from './known-names.ts';
import { parseShare } from './parse-share.ts';

/** What a part may be printed with instead; `keep` for a part that stays as it is. */
export function readLighten(part: Entry, known: Known): LightenRule | undefined {
  if (rawOf(part, 'lighten') === 'keep') return { keep: true };
  if (rawOf(part, 'lighten') === undefined) return undefined;
  const entry = childOf(part, 'lighten');
  const least = childOf(entry, 'least');
  const floor = given({
    perimeters: numberOf(least, 'perimeters'),
    infillShare: shareOf(least, 'infill'),
    solidLayers: numberOf(least, 'floorsAndRoofs'),
    stiffness: shareOf(least, 'stiffness'),
  });
  return given({
    recipeIds: idsOf(entry, 'recipes', 'recipe', known.recipeIds),
    materialIds: idsOf(entry, 'materials', 'material', known.materialIds),
    perimeters: amountsOf(entry, 'perimeters', Number),
    infillShares: amountsOf(entry, 'infill', parseShare),
    solidLayers: amountsOf(entry, 'floorsAndRoofs', Number),
    layersMm: amountsOf(entry, 'layer', parseLengthMm),
    wallsMm: amountsOf(entry, 'hollow', parseLengthMm),
    least: Object.keys(floor).length === 0 ? undefined : floor,
  });
}

function idsOf(entry: Entry, key: string, what: string, known: readonly string[]): readonly string[] | undefined {
  const ids = textsOf(entry, key);
  for (const [i, id] of (ids ?? []).entries())
    mustBeKnown(entry, [key, i], id, known, what, `Known are ${known.join(', ')}.`);
  return ids;
}

function amountsOf(
  entry: Entry,
  key: string,
  parse: (value: string | number) => number,
): readonly number[] | undefined {
  if (rawOf(entry, key) === undefined) return undefined;
  return listOf(entry, key).flatMap((value, i) => {
    if (typeof value !== 'string' && typeof value !== 'number') return [];
    try {
      return [parse(value)];
    } catch (cause) {
      if (!(cause instanceof StonehandError)) throw cause;
      complain(entry, [key, i], cause.code, `"${key}": ${cause.message}`, cause.remedy);
      return [];
    }
  });
}
