import { StonehandError } from '@stonehand/base';

const UNITS: Readonly<Record<string, number>> = {
  s: 1,
  sec: 1,
  second: 1,
  seconds: 1,
  min: 60,
  minute: 60,
  minutes: 60,
  h: 3600,
  hour: 3600,
  hours: 3600,
  d: 86_400,
  day: 86_400,
  days: 86_400,
};
const TERM = /\s*(\d+(?:\.\d+)?|\.\d+)\s*([a-z]*)/iy;
const REMEDY = 'Write numbers with s, min, h or d, such as 12 min, 20 h or 9 h 30.';

/**
 * Seconds of a text such as `45 s`, `12 min`, `20 h`, `9 h 30`, `2 d 4 h` (all that base's formatDuration prints).
 * A number without unit is refused, because nobody can tell minutes from seconds; only 0 is plain, and a last
 * number after hours is minutes.
 * @throws StonehandError TIME_INVALID
 */
export function parseDurationS(value: string | number): number {
  const text = String(value).trim();
  const fail = (why = ''): never => {
    throw new StonehandError('TIME_INVALID', `"${value}" is not a duration${why}`, REMEDY);
  };
  if (text === '') return fail();
  if (/^0+(\.0+)?$/.test(text)) return 0;
  let sum = 0;
  let previous = Infinity;
  TERM.lastIndex = 0;
  while (TERM.lastIndex < text.length) {
    const match = TERM.exec(text);
    if (match === null) return fail();
    const word = match[2]!.toLowerCase();
    const last = TERM.lastIndex === text.length;
    const minutesAfterHours = word === '' && last && previous === 3600 && /^[0-5]?\d$/.test(match[1]!);
    const unit = minutesAfterHours ? 60 : Object.hasOwn(UNITS, word) ? UNITS[word]! : 0;
    if (unit === 0) return fail(word === '' ? ': its unit is missing' : '');
    if (unit >= previous) return fail(': units must go from large to small');
    sum += Number(match[1]) * unit;
    previous = unit;
  }
  return sum;
}
