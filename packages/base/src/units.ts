import { StonehandError } from './errors.ts';

/** Exact by definition (international yard and pound, 1959). */
export const MM_PER_INCH = 25.4;
export const G_PER_OUNCE = 28.349523125;
const OUNCES_PER_POUND = 16;

const LENGTH_UNITS: Readonly<Record<string, number>> = {
  mm: 1,
  millimeter: 1,
  millimetre: 1,
  cm: 10,
  centimeter: 10,
  centimetre: 10,
  m: 1000,
  meter: 1000,
  metre: 1000,
  um: 0.001,
  µm: 0.001,
  micron: 0.001,
  in: MM_PER_INCH,
  inch: MM_PER_INCH,
  '"': MM_PER_INCH,
  ft: 304.8,
  foot: 304.8,
  feet: 304.8,
};
const MASS_UNITS: Readonly<Record<string, number>> = {
  g: 1,
  kg: 1000,
  mg: 0.001,
  oz: G_PER_OUNCE,
  lb: OUNCES_PER_POUND * G_PER_OUNCE,
  lbs: OUNCES_PER_POUND * G_PER_OUNCE,
};

/**
 * A length in mm from a number (mm) or a text such as `5/8 in`, `1 1/4"`, `12 mm`, `5 ft 3 in`.
 * @throws StonehandError UNIT_INVALID
 */
export function parseLengthMm(value: number | string): number {
  return parseQuantity(value, LENGTH_UNITS, 'length', 'Write a number of mm, or a number with mm, cm, m, in or ft.');
}

/**
 * A mass in g from a number (g) or a text such as `1 lb 3 1/4 oz`, `0.5 kg`.
 * @throws StonehandError UNIT_INVALID
 */
export function parseMassG(value: number | string): number {
  return parseQuantity(value, MASS_UNITS, 'mass', 'Write a number of g, or a number with g, kg, oz or lb.');
}

const TERM = /\s*([+-]?\d+(?:\.\d+)?(?:\s+\d+\/\d+|\/\d+)?|[+-]?\.\d+)\s*([a-zµ"]*)/iy;

function parseQuantity(
  value: number | string,
  units: Readonly<Record<string, number>>,
  what: string,
  remedy: string,
): number {
  if (typeof value === 'number') {
    if (Number.isFinite(value)) return value;
    throw new StonehandError('UNIT_INVALID', `${value} is not a ${what}`, remedy);
  }
  const text = value.trim();
  const fail = (): never => {
    throw new StonehandError('UNIT_INVALID', `"${value}" is not a ${what}`, remedy);
  };
  if (text === '') return fail();
  let sum = 0;
  let terms = 0;
  TERM.lastIndex = 0;
  while (TERM.lastIndex < text.length) {
    const match = TERM.exec(text);
    if (match === null) return fail();
    const unit = match[2]!.toLowerCase();
    // A bare number is only allowed when it is all there is: "5 3 in" is a slip, not a sum.
    if (unit === '' && (terms > 0 || TERM.lastIndex < text.length)) return fail();
    const factor = unit === '' ? 1 : units[unit];
    if (factor === undefined) return fail();
    const amount = mixedNumber(match[1]!);
    if (!Number.isFinite(amount)) return fail();
    sum += amount * factor;
    terms++;
  }
  return sum;
}

function mixedNumber(text: string): number {
  const parts = text.split(/\s+/);
  const last = parts.at(-1)!;
  const whole = parts.length === 2 ? Number(parts[0]) : 0;
  const slash = last.indexOf('/');
  const fraction = slash < 0 ? Number(last) : Number(last.slice(0, slash)) / Number(last.slice(slash + 1));
  return whole < 0 || Object.is(whole, -0) ? whole - fraction : whole + fraction;
}

export type UnitSystem = 'metric' | 'US';

/** `96 g`, `1.21 kg`; in US units `3.4 oz`, `2 lb 10.7 oz`. */
export function formatMass(massG: number, system: UnitSystem = 'metric'): string {
  if (system === 'metric') {
    const size = Math.abs(massG);
    if (size >= 999.5) return `${(massG / 1000).toFixed(2)} kg`;
    return size >= 9.95 || size === 0 ? `${Math.round(massG)} g` : `${massG.toFixed(1)} g`;
  }
  // Round to tenths of an ounce first: 453.5 g is 1 lb 0.0 oz, never 0 lb 16.0 oz.
  const tenths = Math.round((Math.abs(massG) / G_PER_OUNCE) * 10);
  const pounds = Math.floor(tenths / (10 * OUNCES_PER_POUND));
  const ounces = (tenths - pounds * 10 * OUNCES_PER_POUND) / 10;
  const sign = massG < 0 && tenths > 0 ? '-' : '';
  return pounds === 0 ? `${sign}${ounces.toFixed(1)} oz` : `${sign}${pounds} lb ${ounces.toFixed(1)} oz`;
}

/** `12.5 mm`, `412 mm`; in US units `16.22 in`. */
export function formatLength(lengthMm: number, system: UnitSystem = 'metric'): string {
  if (system === 'US') return `${(lengthMm / MM_PER_INCH).toFixed(2)} in`;
  return Math.abs(lengthMm) >= 99.95 ? `${Math.round(lengthMm)} mm` : `${lengthMm.toFixed(1)} mm`;
}

/** `45 s`, `12 min`, `9 h 30`, `2 d 4 h`: the finest unit that still means something for a print. */
export function formatDuration(durationS: number): string {
  if (durationS < 59.5) return `${Math.round(durationS)} s`;
  const minutes = Math.round(durationS / 60);
  if (minutes < 60) return `${minutes} min`;
  if (minutes < 48 * 60) return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')}`;
  const hours = Math.round(minutes / 60);
  return `${Math.floor(hours / 24)} d ${hours % 24} h`;
}
