import type { Assembly, BallastRule, ExtraMass, PaintCoat, Vec3 } from '@stonehand/model';
import {
  childOf,
  complain,
  type Entry,
  given,
  listedEntries,
  listOf,
  massOf,
  namedEntries,
  numberOf,
  pointAt,
  rawOf,
  shareOf,
  textOf,
  textsOf,
} from './fields.ts';
import { type Known, mustBeHardware } from './known-names.ts';

/** What weighs beside prints and bought items: `allowances` and `ballast` of an assembly. */
export function readAllowances(entry: Entry, known: Known): Pick<Assembly, 'extras' | 'glueGPerM' | 'ballast'> {
  const allowances = childOf(entry, 'allowances');
  const extras = (['wiring', 'other'] as const).flatMap((kind) =>
    listedEntries(allowances, kind).flatMap((item): ExtraMass[] => {
      const [what, massG] = [textOf(item, 'what'), massOf(item, 'mass')];
      return what === undefined || massG === undefined ? [] : [{ what, kind, massG, alongMm: pointsOf(item, 'along') }];
    }),
  );
  return given({
    extras: extras.length === 0 ? undefined : extras,
    glueGPerM: massOf(allowances, 'glue'),
    ballast: readBallast(childOf(entry, 'ballast'), known),
  });
}

/** The coats on a part, one or a list of them. */
export function readPaint(entry: Entry): readonly PaintCoat[] | undefined {
  const raw = rawOf(entry, 'paint');
  if (raw === undefined) return undefined;
  const coats = Array.isArray(raw) ? listedEntries(entry, 'paint') : [childOf(entry, 'paint')];
  return coats.flatMap((coat) => {
    const gPerM2 = massOf(coat, 'perM2');
    if (gPerM2 === undefined) return [];
    const share = shareOf(coat, 'share');
    return [
      { what: textOf(coat, 'what') ?? 'paint', gPerM2, coats: numberOf(coat, 'coats') ?? 1, ...given({ share }) },
    ];
  });
}

function pointsOf(entry: Entry, key: string): Vec3[] {
  return listOf(entry, key).flatMap((_, i) => {
    const point = pointAt(entry, [key, i]);
    return point === undefined ? [] : [point];
  });
}

function readBallast(entry: Entry, known: Known): BallastRule | undefined {
  if (Object.keys(entry.raw).length === 0) return undefined;
  const places = namedEntries(childOf(entry, 'places')).flatMap(([name, place]) => {
    const box = boxOf(place) ?? complainOfPlace(place);
    return box === undefined ? [] : [{ name, ...box, ...given({ mostG: massOf(place, 'most') }) }];
  });
  const itemIds = (textsOf(entry, 'items') ?? []).filter((id, i) => mustBeHardware(entry, ['items', i], id, known));
  const movable = namedEntries(childOf(entry, 'movable')).flatMap(([itemId, where]) => {
    const box = boxOf(where);
    return mustBeHardware(where, [], itemId, known) && box !== undefined ? [{ itemId, ...box }] : [];
  });
  return { places, itemIds, movable };
}

function boxOf(entry: Entry): { minMm: Vec3; maxMm: Vec3 } | undefined {
  const at = pointAt(entry, ['at']);
  const [from, to] = at === undefined ? [pointAt(entry, ['from']), pointAt(entry, ['to'])] : [at, at];
  if (from === undefined || to === undefined) return undefined;
  const each = (pick: (...pair: number[]) => number): Vec3 => [
    pick(from[0], to[0]),
    pick(from[1], to[1]),
    pick(from[2], to[2]),
  ];
  return { minMm: each(Math.min), maxMm: each(Math.max) };
}

function complainOfPlace(entry: Entry): undefined {
  complain(entry, [], 'DATA_INVALID', 'a place needs a point, or two corners', 'Write at, or from and to.');
  return undefined;
}
