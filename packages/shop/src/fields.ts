import { type ErrorCode, nearestName, parseLengthMm, parseMassG, StonehandError } from '@stonehand/base';
import type { Vec3 } from '@stonehand/model';
import { parseDurationS } from './parse-duration.ts';
import { parseShare } from './parse-share.ts';
import type { Problem } from './problem.ts';
import type { Path, Source } from './yaml-source.ts';

/**
 * A map of keys somewhere in a YAML file. The readers below take one key of it; whatever is absent or of the wrong
 * kind gives the fallback (the schema has complained already), whatever cannot be understood is complained about here.
 */
export interface Entry {
  readonly source: Source;
  readonly path: Path;
  readonly raw: Readonly<Record<string, unknown>>;
  readonly problems: Problem[];
}

export function entryAt(source: Source, path: Path, value: unknown, problems: Problem[]): Entry {
  const isObject = typeof value === 'object' && value !== null && !Array.isArray(value);
  return { source, path, raw: isObject ? (value as Record<string, unknown>) : {}, problems };
}

export function rawOf(entry: Entry, key: string): unknown {
  return Object.hasOwn(entry.raw, key) ? (entry.raw[key] ?? undefined) : undefined;
}

export function childOf(entry: Entry, key: string): Entry {
  return entryAt(entry.source, [...entry.path, key], rawOf(entry, key), entry.problems);
}

/** The entries of a map, by name. */
export function namedEntries(entry: Entry): [string, Entry][] {
  return Object.keys(entry.raw).map((name) => [name, childOf(entry, name)]);
}

/** The entries of a list. */
export function listedEntries(entry: Entry, key: string): Entry[] {
  return listOf(entry, key).map((item, i) => entryAt(entry.source, [...entry.path, key, i], item, entry.problems));
}

export function listOf(entry: Entry, key: string): readonly unknown[] {
  const value = rawOf(entry, key);
  return Array.isArray(value) ? value : [];
}

export function complain(entry: Entry, tail: Path, code: ErrorCode, what: string, remedy: string): void {
  const place = entry.source.place([...entry.path, ...tail], tail.length === 0 ? 'key' : 'value');
  entry.problems.push({ code, file: entry.source.file, ...place, what, remedy });
}

/** Complains unless `name` is one of `known`; `what` says what it should be, such as "material". */
export function mustBeKnown(
  entry: Entry,
  tail: Path,
  name: string,
  known: readonly string[],
  what: string,
  remedy: string,
): boolean {
  if (known.includes(name)) return true;
  const near = nearestName(name, known);
  complain(
    entry,
    tail,
    'DATA_UNKNOWN',
    `there is no ${what} "${name}"`,
    near === undefined ? remedy : `Did you mean "${near}"?`,
  );
  return false;
}

export function textOf(entry: Entry, key: string): string | undefined {
  const value = rawOf(entry, key);
  return typeof value === 'string' ? value.trim() : typeof value === 'number' ? String(value) : undefined;
}

/** A moment as it was written; complains about a day or a time that does not exist (the schema has judged its form). */
export function momentOf(entry: Entry, key: string): string | undefined {
  const text = textOf(entry, key);
  const match = text === undefined ? null : /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}):(\d{2}))?/.exec(text);
  if (text === undefined || match === null) return text;
  const [, date, hour = '0', minute = '0'] = match;
  const day = Date.parse(`${date}T00:00:00Z`);
  const exists = Number.isFinite(day) && new Date(day).toISOString().startsWith(date!);
  if (!exists || Number(hour) > 23 || Number(minute) > 59) {
    complain(
      entry,
      [key],
      'TIME_INVALID',
      `there is no ${text}`,
      'Write a day and a time that exist, such as 2026-06-05 18:00.',
    );
  }
  return text;
}

export function numberOf(entry: Entry, key: string): number | undefined {
  const value = rawOf(entry, key);
  return typeof value === 'number' && Number.isFinite(value) ? value : undefined;
}

export function flagOf(entry: Entry, key: string): boolean | undefined {
  const value = rawOf(entry, key);
  return typeof value === 'boolean' ? value : undefined;
}

export function wordOf<T extends string>(entry: Entry, key: string, words: readonly T[]): T | undefined {
  const value = rawOf(entry, key);
  return words.find((word) => word === value);
}

export function wordsOf<T extends string>(entry: Entry, key: string, words: readonly T[]): readonly T[] | undefined {
  const value = rawOf(entry, key);
  return Array.isArray(value) ? words.filter((word) => value.includes(word)) : undefined;
}

export function textsOf(entry: Entry, key: string): readonly string[] | undefined {
  const value = rawOf(entry, key);
  return Array.isArray(value) ? value.filter((item) => typeof item === 'string') : undefined;
}

/** mm, not negative. */
export function lengthOf(entry: Entry, key: string): number | undefined {
  return amountOf(entry, [key], parseLengthMm, true);
}

/** mm, of any sign, at a path below the entry. */
export function coordinateAt(entry: Entry, tail: Path): number | undefined {
  return amountOf(entry, tail, parseLengthMm, false);
}

/** g, not negative. */
export function massOf(entry: Entry, key: string): number | undefined {
  return amountOf(entry, [key], parseMassG, true);
}

/** s */
export function durationOf(entry: Entry, key: string): number | undefined {
  return amountOf(entry, [key], parseDurationS, true);
}

/** 0 … 1 */
export function shareOf(entry: Entry, key: string): number | undefined {
  return amountOf(entry, [key], parseShare, true);
}

export function pointAt(entry: Entry, tail: Path): Vec3 | undefined {
  const [x, y, z] = [0, 1, 2].map((i) => coordinateAt(entry, [...tail, i]));
  return x === undefined || y === undefined || z === undefined ? undefined : [x, y, z];
}

/** From, to: two lengths that may be negative, in this order. */
export function rangeOf(entry: Entry, key: string): readonly [number, number] | undefined {
  if (listOf(entry, key).length !== 2) return undefined;
  const [from, to] = [coordinateAt(entry, [key, 0]), coordinateAt(entry, [key, 1])];
  if (from === undefined || to === undefined) return undefined;
  if (from > to)
    complain(entry, [key], 'DATA_INVALID', 'the range ends before it begins', 'Write the smaller one first.');
  return from > to ? undefined : [from, to];
}

/** Numbers at a path below the entry, all of them or nothing. */
export function numbersAt(entry: Entry, tail: Path, count: number): readonly number[] | undefined {
  const value = valueAt(entry, tail);
  if (!Array.isArray(value) || value.length !== count) return undefined;
  return value.every((item) => typeof item === 'number' && Number.isFinite(item)) ? value : undefined;
}

export function valueAt(entry: Entry, tail: Path): unknown {
  let value: unknown = entry.raw;
  for (const segment of tail) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, segment)) return undefined;
    value = (value as Record<string | number, unknown>)[segment];
  }
  return value ?? undefined;
}

/** Without the members that are undefined, as exact optional members want it. */
export function given<T extends object>(members: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(members).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]?: Exclude<T[K], undefined>;
  };
}

function amountOf(
  entry: Entry,
  tail: Path,
  parse: (value: string | number) => number,
  notNegative: boolean,
): number | undefined {
  const value = valueAt(entry, tail);
  if (typeof value !== 'string' && typeof value !== 'number') return undefined;
  try {
    const amount = parse(value);
    if (!notNegative || amount >= 0) return amount;
    complain(
      entry,
      tail,
      'DATA_INVALID',
      `"${tail.at(-1)}" is ${value}, but must not be less than 0`,
      'Write 0 or more.',
    );
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    complain(entry, tail, cause.code, `"${tail.at(-1)}": ${cause.message}`, cause.remedy);
  }
  return undefined;
}
