import { formatLength, formatMass, G_PER_OUNCE, type UnitSystem } from '@stonehand/base';
import type { Figure, Instant } from '@stonehand/model';
import { DateTime } from 'luxon';

/** A mass with its interval, no finer than the interval deserves: `956 g (918 to 994)`, `1.21 kg (1.10 to 1.34)`. */
export function massText(figure: Figure, system: UnitSystem = 'metric'): string {
  return withInterval(figure, (f) => massFormatter(f, system));
}

/** The middle value alone, rounded as massText rounds it: `1.21 kg`. */
export function massValue(figure: Figure, system: UnitSystem = 'metric'): string {
  return massFormatter(figure, system)(figure.value, true);
}

/** The interval alone: `1.10 to 1.34`; empty when there is none. */
export function massRange(figure: Figure, system: UnitSystem = 'metric'): string {
  return rangeOf(figure, massFormatter(figure, system));
}

/** A duration with its interval: `9½ h (8 to 12½)`, `85 min (75 to 110)`. */
export function durationText(figure: Figure): string {
  return withInterval(figure, durationFormatter);
}

/** The middle value alone: `9½ h`. */
export function durationValue(figure: Figure): string {
  return durationFormatter(figure)(figure.value, true);
}

/** A length or another figure in mm with its interval. */
export function lengthText(figure: Figure, system: UnitSystem = 'metric'): string {
  return withInterval(figure, (f) => lengthFormatter(f, system));
}

/** The middle value alone, rounded as lengthText rounds it. */
export function lengthValue(figure: Figure, system: UnitSystem = 'metric'): string {
  return lengthFormatter(figure, system)(figure.value, true);
}

/** A moment of force with its interval: `0.42 N·m (0.38 to 0.46)`, `59 oz·in`. Newton millimetres inside. */
export function momentOfForceText(figure: Figure, system: UnitSystem = 'metric'): string {
  return withInterval(figure, (f) => momentFormatter(f, system));
}

export function momentOfForceValue(figure: Figure, system: UnitSystem = 'metric'): string {
  return momentFormatter(figure, system)(figure.value, true);
}

/** An angle in degrees with its interval. */
export function degreesText(figure: Figure): string {
  return withInterval(figure, () => degrees);
}

export function degreesValue(figure: Figure): string {
  return degrees(figure.value, true);
}

/** Of two recipes told with commas, only what the second says otherwise; all of it where they are told in another way. */
export function changedWords(from: string, to: string): string {
  const known = new Set(from.split(', '));
  const other = to.split(', ').filter((words) => !known.has(words));
  return other.length === 0 ? to : other.join(', ');
}

/** What is left to a limit, with the same width of interval as the figure it comes from: it is no surer than that. */
export function marginOf(limit: Readonly<{ value: Figure; margin: number }>): Figure {
  const { value, low, high, from } = limit.value;
  const margin = Math.abs(limit.margin);
  if (low === undefined || high === undefined) return { value: margin, from };
  return { value: margin, low: margin - (value - low), high: margin + (high - value), from };
}

type Formatter = (value: number, unit: boolean) => string;

function withInterval(figure: Figure, formatter: (figure: Figure) => Formatter): string {
  const format = formatter(figure);
  const range = rangeOf(figure, format);
  return range === '' ? format(figure.value, true) : `${format(figure.value, true)} (${range})`;
}

function rangeOf(figure: Figure, format: Formatter): string {
  if (figure.low === undefined || figure.high === undefined) return '';
  return `${format(figure.low, false)} to ${format(figure.high, false)}`;
}

/** Power of ten that leaves the interval 5 to 50 steps wide: finer would be false decimals. */
function decadeStep(figure: Figure, finest: number): number {
  if (figure.low === undefined || figure.high === undefined) return finest;
  const width = Math.abs(figure.high - figure.low);
  return width > 0 ? Math.max(finest, 10 ** Math.floor(Math.log10(width / 5))) : finest;
}

function massFormatter(figure: Figure, system: UnitSystem): Formatter {
  if (system === 'US') {
    // Each bound carries its own unit: "2 lb 1 oz (15 oz to ...)" would be unreadable with the unit left out.
    const widthOz = Math.abs((figure.high ?? 0) - (figure.low ?? 0)) / G_PER_OUNCE;
    return widthOz < 5 ? (value) => formatMass(value, 'US') : (value) => wholeOunces(value);
  }
  if (figure.low === undefined || figure.high === undefined) return (value) => formatMass(value);
  const stepG = decadeStep(figure, 0.1);
  if (Math.abs(figure.value) >= 999.5) {
    const decimals = Math.min(2, Math.max(0, 3 - Math.round(Math.log10(stepG))));
    return (value, unit) => `${(value / 1000).toFixed(decimals)}${unit ? ' kg' : ''}`;
  }
  const decimals = stepG < 1 && Math.abs(figure.value) < 20 ? 1 : 0;
  const coarse = Math.max(stepG, decimals === 1 ? 0.1 : 1);
  return (value, unit) => `${(Math.round(value / coarse) * coarse).toFixed(decimals)}${unit ? ' g' : ''}`;
}

/** `2 lb 2 oz`, `15 oz`, for what is not known to a tenth. */
function wholeOunces(massG: number): string {
  const ounces = Math.round(Math.abs(massG) / G_PER_OUNCE);
  const pounds = Math.floor(ounces / 16);
  const sign = massG < 0 && ounces > 0 ? '\u2212' : '';
  return pounds === 0 ? `${sign}${ounces} oz` : `${sign}${pounds} lb ${ounces - 16 * pounds} oz`;
}

function lengthFormatter(figure: Figure, system: UnitSystem): Formatter {
  if (system === 'US') return (value) => minus(formatLength(value, 'US'));
  const step = decadeStep(figure, 0.1);
  const decimals = step < 1 ? 1 : 0;
  return (value, unit) => `${minus((Math.round(value / step) * step).toFixed(decimals))}${unit ? ' mm' : ''}`;
}

/** N·mm in an ounce-force inch, by the definitions of the pound, the inch and standard gravity. */
const NMM_PER_OUNCE_INCH = (G_PER_OUNCE / 1000) * 9.80665 * 25.4;

function momentFormatter(figure: Figure, system: UnitSystem): Formatter {
  if (system === 'US') {
    return (value, unit) => `${minus((value / NMM_PER_OUNCE_INCH).toFixed(1))}${unit ? ' oz·in' : ''}`;
  }
  const small = Math.abs(figure.value) < 100;
  return (value, unit) =>
    small
      ? `${minus(value.toFixed(0))}${unit ? ' N·mm' : ''}`
      : `${minus((value / 1000).toFixed(2))}${unit ? ' N·m' : ''}`;
}

const degrees: Formatter = (value, unit) => `${minus(value.toFixed(1))}${unit ? '°' : ''}`;

/** A real minus sign, and none before a zero. */
export function minus(text: string): string {
  return text.startsWith('-') ? (Number.parseFloat(text) === 0 ? text.slice(1) : `\u2212${text.slice(1)}`) : text;
}

function durationFormatter(figure: Figure): Formatter {
  const widthS = Math.abs((figure.high ?? figure.value) - (figure.low ?? figure.value));
  const longest = Math.max(figure.value, figure.high ?? 0);
  if (longest < 90) return (value, unit) => `${Math.round(value)}${unit ? ' s' : ''}`;
  if (longest < 2 * 3600) {
    const step = widthS >= 1500 ? 5 : 1;
    return (value, unit) => `${Math.round(value / 60 / step) * step}${unit ? ' min' : ''}`;
  }
  const quarters = widthS > 6 * 3600 || longest >= 24 * 3600 ? 4 : widthS > 2 * 3600 ? 2 : 1;
  return (value, unit) => `${quarterHours(value, quarters)}${unit ? ' h' : ''}`;
}

function quarterHours(valueS: number, step: number): string {
  const quarters = Math.round(valueS / 900 / step) * step;
  const whole = Math.floor(quarters / 4);
  const rest = ['', '¼', '½', '¾'][quarters - 4 * whole]!;
  return whole === 0 && rest !== '' ? rest : `${whole}${rest}`;
}

/** Fractions people use, from 1 in 20 to 19 in 20. */
const CHANCES: readonly (readonly [number, string])[] = [
  [1 / 20, '1 in 20'],
  [1 / 10, '1 in 10'],
  [1 / 5, '1 in 5'],
  [1 / 4, '1 in 4'],
  [1 / 3, '1 in 3'],
  [2 / 5, '2 in 5'],
  [1 / 2, '1 in 2'],
  [3 / 5, '3 in 5'],
  [2 / 3, '2 in 3'],
  [3 / 4, '3 in 4'],
  [4 / 5, '4 in 5'],
  [9 / 10, '9 in 10'],
  [19 / 20, '19 in 20'],
];

/** A chance in words: `about 4 in 5`; at the ends `more than 19 in 20`, `less than 1 in 20`. */
export function chanceWords(share: number): string {
  if (share > 0.975) return 'more than 19 in 20';
  if (share < 0.025) return 'less than 1 in 20';
  // Nearest in odds, not in difference: 0.93 is nearer to 19 in 20 than a plain difference would say of the small ones.
  const odds = (p: number): number => Math.log(p / (1 - p));
  let best = CHANCES[0]!;
  for (const chance of CHANCES) {
    if (Math.abs(odds(chance[0]) - odds(share)) < Math.abs(odds(best[0]) - odds(share)) - 1e-12) best = chance;
  }
  return `about ${best[1]}`;
}

/** `1 run`, `3 runs`. */
export function countOf(n: number, one: string, many: string = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

/** `a`, `a and b`, `a, b and c`; past `most` the rest is counted. */
export function listWords(items: readonly string[], most: number = Number.POSITIVE_INFINITY): string {
  const shown = items.length > most ? [...items.slice(0, most), countOf(items.length - most, 'other')] : items;
  if (shown.length <= 1) return shown[0] ?? '';
  return `${shown.slice(0, -1).join(', ')} and ${shown[shown.length - 1]}`;
}

/** The first part of a scheduler's sentence: what to do and where, without the times that follow. */
export function shortWords(says: string): string {
  return says.split(/, (?:watch until|ends about) /)[0]!;
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What every text about time needs of a plan. */
export type PlanClock = Readonly<{ planFrom: Instant; timeZone: string }>;

/** A moment in the plan's own zone; UTC where the zone is unknown. */
export function localTime(instant: Instant, clock: PlanClock): DateTime {
  const moment = DateTime.fromISO(instant, { zone: 'utc', locale: 'en-GB' });
  const local = moment.setZone(clock.timeZone);
  return local.isValid ? local : moment;
}

/** `Fri 18:10`; with the date when it is a week or more from the plan's start. */
export function momentText(instant: Instant, clock: PlanClock): string {
  const local = localTime(instant, clock);
  if (!local.isValid) return instant;
  const days = local.startOf('day').diff(localTime(clock.planFrom, clock).startOf('day'), 'days').days;
  return local.toFormat(days >= 0 && days < 6.5 ? 'ccc HH:mm' : 'ccc d LLL HH:mm');
}

/** `18:10`. */
export function hourText(instant: Instant, clock: PlanClock): string {
  return localTime(instant, clock).toFormat('HH:mm');
}

/** `Friday 5 June`. */
export function dayText(instant: Instant, clock: PlanClock): string {
  return localTime(instant, clock).toFormat('cccc d LLLL');
}

/** A point: `3, −6, 212 mm`, `0.12, −0.24, 8.35 in`. */
export function placeText(atMm: readonly number[], system: UnitSystem = 'metric'): string {
  const inches = system === 'US';
  return `${atMm.map((v) => minus(inches ? (v / 25.4).toFixed(2) : v.toFixed(0))).join(', ')} ${inches ? 'in' : 'mm'}`;
}

/** Whole numbers in mm where they are whole, one decimal where not: `412 × 268 × 141`. */
export function sizeText(sizeMm: readonly number[], system: UnitSystem = 'metric'): string {
  if (system === 'US') return `${sizeMm.map((v) => (v / 25.4).toFixed(2)).join(' × ')} in`;
  return sizeMm.map((v) => (v >= 99.95 ? String(Math.round(v)) : String(Number(v.toFixed(1))))).join(' × ');
}
