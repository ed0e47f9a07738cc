/** What a file's name says beside naming the part. */
export type NameMarks = Readonly<{
  /** the name without the marks, words joined by hyphens; empty when it is nothing but marks */
  stem: string;
  quantity?: Readonly<{ count: number; says: string }>;
  /** short name of a unit */
  unit?: Readonly<{ unit: string; says: string }>;
  /** marks of a revision, as written */
  marks: readonly string[];
  age: Age;
}>;

/** Ordered by word, then version, then date, then number of the copy. A name without a mark is the first version. */
type Age = Readonly<{ word: number; version: readonly number[]; date: number; copy: number }>;

/**
 * Reads quantities (x4, 4x, qty3, 2 pcs, "(2 of)"), units and marks of revisions (v2, r3, rev-b, dates, old, new, copy, (1)) out of a
 * name. They count only as words of their own: `40x20` and `m3x12` are sizes. Which words people use: common practice, no source.
 * @param name of a file, its ending already off, or of a folder
 */
export function nameMarks(name: string): NameMarks {
  let text = name
    .normalize('NFKC')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase();
  const marks: string[] = [];
  const take = (pattern: RegExp, use: (groups: string[], says: string) => void): void => {
    text = text.replace(pattern, (says: string, ...rest: unknown[]) => {
      use(
        rest.filter((part): part is string => typeof part === 'string').slice(0, -1),
        says.trim().replace(/^[\s_.-]+/, ''),
      );
      return ' ';
    });
  };
  const age = { word: 0, version: [1] as readonly number[], date: 0, copy: 0 };
  let quantity: NameMarks['quantity'];
  let unit: NameMarks['unit'];
  take(DATE, ([year, month, day], says) => {
    marks.push(says);
    age.date = Number(year) * 10_000 + Number(month) * 100 + Number(day);
  });
  for (const pattern of QUANTITIES) {
    take(pattern, ([count], says) => {
      quantity ??= { count: Number(count), says };
    });
  }
  take(VERSION, ([number], says) => {
    marks.push(says);
    age.version = number!.split('.').map(Number);
  });
  take(REVISION, ([letter], says) => {
    marks.push(says);
    age.version = [/\d/.test(letter!) ? Number(letter) : letter!.charCodeAt(0) - 96];
  });
  take(OLDER, (_, says) => {
    marks.push(says);
    age.word = -1;
  });
  take(NEWER, (_, says) => {
    marks.push(says);
    age.word = 1;
  });
  take(COPY, ([number], says) => {
    marks.push(says);
    age.copy = Number(number ?? 1) || 1;
  });
  take(UNIT, ([word], says) => {
    unit = { unit: UNITS[word!] ?? word!, says };
  });
  const stem = wordsOf(text).join('-');
  return {
    stem,
    ...(quantity === undefined || quantity.count < 2 ? {} : { quantity }),
    ...(unit === undefined ? {} : { unit }),
    marks,
    age,
  };
}

/** Below 0 when a is older, above when it is newer, 0 when the names do not say. */
export function byAge(a: Age, b: Age): number {
  if (a.word !== b.word) return a.word - b.word;
  for (let i = 0; i < Math.max(a.version.length, b.version.length); i++) {
    const d = (a.version[i] ?? 0) - (b.version[i] ?? 0);
    if (d !== 0) return d;
  }
  return a.date - b.date || a.copy - b.copy;
}

export function wordsOf(text: string): string[] {
  return text
    .toLowerCase()
    .split(/[^\p{L}\p{N}]+/u)
    .filter((word) => word !== '');
}

const DATE = /(?<![a-z0-9])((?:19|20)\d\d)[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])(?![a-z0-9])/g;
const QUANTITIES = [
  /(?<![a-z0-9.])[x×](\d{1,3})(?![a-z0-9]|\.\d)/g,
  /(?<![a-z0-9.])(\d{1,3}) ?[x×](?![a-z0-9]|\s*\d)/g,
  /(?<![a-z0-9])(?:qty|quantity|count)[\s._-]*(\d{1,3})(?![a-z0-9])/g,
  /(?<![a-z0-9.])(\d{1,3})[\s_-]?(?:pcs?|pieces|off)(?![a-z0-9])/g,
  /\(\s*(\d{1,3}) of\s*\)/g, // "2 of 5" is a piece of a set, so the word must end there
  /(?<![a-z0-9.])(\d{1,3})[\s_-]of\s*$/g,
];
const VERSION = /(?<![a-z0-9])(?:v|ver|version)[\s._-]?(\d{1,3}(?:\.\d{1,3})*)(?![a-z0-9])/g;
const REVISION = /(?<![a-z0-9])(?:rev(?:ision)?[\s._-]?([a-z]|\d{1,3})|r(\d{1,2}))(?![a-z0-9])/g;
const OLDER = /(?<![a-z0-9])(?:old|older|orig|original|prev|previous|backup|bak|obsolete)(?![a-z0-9])/g;
const NEWER = /(?<![a-z0-9])(?:new|newer|newest|latest|update|updated|fixed|final|improved|revised)(?![a-z0-9])/g;
const COPY = /(?:(?<![a-z0-9])copy(?![a-z0-9])(?:\s+of)?|\((\d{1,2})\))/g;
const UNIT = /(?<![a-z0-9]|\d[\s_.-])(mm|cm|inch|inches|millimet(?:er|re)s?|met(?:er|re)s)(?![a-z0-9])/g;
const UNITS: Readonly<Record<string, string>> = {
  inch: 'in',
  inches: 'in',
  millimeter: 'mm',
  millimetre: 'mm',
  millimeters: 'mm',
  millimetres: 'mm',
  meters: 'm',
  metres: 'm',
};
