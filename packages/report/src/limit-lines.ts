import type { Figure, MassReport, UnitsShown } from '@stonehand/model';
import {
  chanceWords,
  countOf,
  degreesText,
  degreesValue,
  lengthText,
  lengthValue,
  listWords,
  marginOf,
  massText,
  massValue,
  momentOfForceText,
  momentOfForceValue,
} from './words.ts';

/** What is limited once, with what bounds it from below and above: an axis of the centre has one line, not two. */
export type LimitLine = Readonly<{
  /** `mass`, `centre x` */
  what: string;
  unit: string;
  value: Figure;
  least?: number;
  most?: number;
  /** the smaller one of both bounds; negative when broken */
  margin: number;
  /** that both bounds are kept */
  chance?: number;
}>;

/** Below this a limit that is kept in the middle is still worth a word. */
const SURE_ENOUGH = 0.9;
/** From here on the chance adds nothing to what the margin says. */
const NO_DOUBT = 0.975;

/** A report's limits in their order, `at least` and `at most` of the same figure joined. */
export function limitLines(report: MassReport): LimitLine[] {
  const lines = new Map<string, LimitLine>();
  for (const limit of report.limits) {
    const { what, side } = limitParts(limit.limit);
    const bound = side === 'least' ? { least: limit.allowed } : { most: limit.allowed };
    const known = lines.get(what);
    const { unit, value, margin, chance } = limit;
    if (known === undefined) {
      lines.set(what, { what, unit, value, ...bound, margin, ...(chance === undefined ? {} : { chance }) });
      continue;
    }
    // Below the one and above the other exclude each other, so what is lost to either adds up.
    const both =
      known.chance === undefined || chance === undefined ? undefined : Math.max(0, known.chance + chance - 1);
    lines.set(what, {
      ...known,
      ...bound,
      margin: Math.min(known.margin, margin),
      ...(both === undefined ? {} : { chance: both }),
    });
  }
  return [...lines.values()];
}

/** `centre x at least` and `centre x, at most` are about the same figure; what names no side is a most. */
function limitParts(limit: string): { what: string; side: 'least' | 'most' } {
  const stated = /^(.*?),? at (least|most)$/.exec(limit);
  return { what: limitName(stated?.[1] ?? limit), side: stated?.[2] === 'least' ? 'least' : 'most' };
}

/** `mass` for massG; other limits as they are named, camel case taken apart. */
function limitName(limit: string): string {
  if (limit === 'massG' || limit === 'mass') return 'mass';
  return limit
    .replace(/(Mm|G)(?=$|[^a-z])/g, '')
    .replace(/[._]+/g, ' ')
    .replace(/([a-z])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`)
    .trim();
}

export function isDoubtful(line: LimitLine): boolean {
  return line.margin < 0 || (line.chance !== undefined && line.chance < SURE_ENOUGH);
}

/** The figure with its interval: `18.1 mm (15.8 to 20.3)`. */
export function limitValue(line: LimitLine, units: UnitsShown): string {
  const { value } = line;
  if (line.unit === 'g') return massText(value, units);
  if (line.unit === '°') return degreesText(value);
  return line.unit === 'N·mm' ? momentOfForceText(value, units) : lengthText(value, units);
}

/** `allowed −30 to 6 mm`, `allowed at most 505 g`. */
export function allowedText({ least, most, unit }: LimitLine, units: UnitsShown): string {
  if (least !== undefined && most !== undefined) {
    const from = statedValue(least, unit, units);
    return `allowed ${units === 'US' ? from : from.replace(/ \S+$/, '')} to ${statedValue(most, unit, units)}`;
  }
  return least !== undefined
    ? `allowed at least ${statedValue(least, unit, units)}`
    : `allowed at most ${statedValue(most ?? 0, unit, units)}`;
}

/** `12.1 mm beyond the limit`, `13 g over the limit`, `10 g to spare`. */
export function marginText(line: LimitLine, units: UnitsShown): string {
  const margin = marginOf(line);
  const left = marginValue(margin, line.unit, units);
  if (line.margin >= 0) return `${left} to spare`;
  return `${left} ${line.unit === 'g' && line.least === undefined ? 'over' : 'beyond'} the limit`;
}

function marginValue(margin: Figure, unit: string, units: UnitsShown): string {
  if (unit === 'g') return massValue(margin, units);
  if (unit === '°') return degreesValue(margin);
  return unit === 'N·mm' ? momentOfForceValue(margin, units) : lengthValue(margin, units);
}

/** `chance about 2 in 3`; nothing where it is as good as sure, or where a broken limit is as good as sure to be broken. */
export function limitChance({ chance }: LimitLine): string {
  return chance === undefined || chance > NO_DOUBT || chance < 1 - NO_DOUBT ? '' : `chance ${chanceWords(chance)}`;
}

/** A limit as it was stated: exact, without decimals that nobody wrote. */
export function statedValue(value: number, unit: string, units: UnitsShown): string {
  if (unit === 'g') return massText({ value, from: '' }, units);
  if (unit === 'N·mm') return momentOfForceValue({ value, from: '' }, units);
  if (unit === '°') return `${Number(value.toFixed(2))}°`;
  if (units === 'US') return lengthText({ value, from: '' }, units);
  const text = `${Number(value.toFixed(2))} ${unit}`;
  return text.startsWith('-') ? `\u2212${text.slice(1)}` : text;
}

export function flatten(reports: readonly MassReport[]): MassReport[] {
  return reports.flatMap((report) => [report, ...flatten(report.children)]);
}

/**
 * What is not in the centre, counted by kind:
 * `47 bought items without a stated place: in the mass, not in the centre`. What
 * follows none of the known patterns is named as it stands.
 */
export function missingWords(missing: readonly string[]): string {
  const counts = { bought: 0, unplaced: 0, shapeless: 0 };
  const other: string[] = [];
  for (const text of missing) {
    const known = /: (no place is stated|its shape is not known) for (\d+) of \d+( \S)?/.exec(text);
    if (known === null) other.push(text);
    // Only a bought item is named after its count.
    else if (known[3] !== undefined) counts.bought += Number(known[2]);
    else counts[known[1] === 'no place is stated' ? 'unplaced' : 'shapeless'] += Number(known[2]);
  }
  const counted = [
    ...(counts.bought === 0 ? [] : [`${countOf(counts.bought, 'bought item')} without a stated place`]),
    ...(counts.unplaced === 0 ? [] : [`${countOf(counts.unplaced, 'piece')} without a stated place`]),
    ...(counts.shapeless === 0 ? [] : [`${countOf(counts.shapeless, 'piece')} without a known shape`]),
  ];
  const said = counted.length === 0 ? [] : [`${listWords(counted)}: in the mass, not in the centre`];
  if (other.length > 0) said.push(`not in the centre: ${listWords(other, 3)}`);
  return said.join('; ');
}
