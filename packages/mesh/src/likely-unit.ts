import type { Vec3 } from '@stonehand/model';
import { unitToMm } from './unit-to-mm.ts';

/** A suspicion that a file's numbers are in another unit. Never applied by itself. */
export type UnitGuess = Readonly<{
  /** short name of the likelier unit */
  unit: string;
  /** longest side if it is so */
  longestMm: number;
  /** how many times likelier than the unit taken, by the stated expectations; at least SUSPECT */
  timesLikelier: number;
  /** one sentence, to be shown */
  reason: string;
}>;

// Parts printed at home: the longest side is mostly between 10 and 350 mm, and seldom a sixth or six times of that range.
// Common practice, no source; a logarithmic normal distribution stands for it.
const USUAL_MM = 60;
const SPREAD = Math.log(3.2);

/** How common each unit is among files that state none, beside the one taken. Common practice, no source. */
const COMMON: readonly (readonly [unit: string, weight: number])[] = [
  ['mm', 1],
  ['in', 0.3],
  ['m', 0.3],
  ['cm', 0.15],
  ['micron', 0.02],
];

const SUSPECT = 3;
const SIXTEENTHS_WEIGHT = 30; // three sides on sixteenths that are not on tenths happen by chance about once in 40 designs in mm

/**
 * The unit that the numbers of a file are likely in, when it is another than the one taken.
 * @param size the three sides of the box in the file's numbers
 * @param unit the unit taken
 * @returns undefined when nothing speaks clearly against it
 * @throws StonehandError UNIT_INVALID
 */
export function likelyUnit(size: Vec3, unit: string): UnitGuess | undefined {
  const longest = Math.max(...size);
  if (!(longest > 0)) return undefined;
  const taken = unitToMm(unit);
  const sixteenths = onSixteenths(size);
  const now = expectation(longest * taken) * (sixteenths && taken === unitToMm('in') ? SIXTEENTHS_WEIGHT : 1);
  let best: { unit: string; times: number } | undefined;
  for (const [name, weight] of COMMON) {
    if (unitToMm(name) === taken) continue;
    const evidence = sixteenths && name === 'in' ? SIXTEENTHS_WEIGHT : 1;
    const times = (expectation(longest * unitToMm(name)) * weight * evidence) / Math.max(now, Number.MIN_VALUE);
    if (best === undefined || times > best.times) best = { unit: name, times };
  }
  if (best === undefined || best.times < SUSPECT) return undefined;
  const longestMm = longest * unitToMm(best.unit);
  const because =
    sixteenths && best.unit === 'in'
      ? `all three sides (${size.map(short).join(' × ')}) are whole sixteenths and the longest would be ${short(longestMm)} mm`
      : `the longest side would be ${short(longestMm)} mm instead of ${short(longest * taken)} mm`;
  return {
    unit: best.unit,
    longestMm,
    timesLikelier: best.times,
    reason: `The numbers look like ${NAMES.get(best.unit)}: ${because}.`,
  };
}

const NAMES: ReadonlyMap<string, string> = new Map([
  ['mm', 'millimetres'],
  ['in', 'inches'],
  ['m', 'metres'],
  ['cm', 'centimetres'],
  ['micron', 'microns'],
]);

function expectation(longestMm: number): number {
  return Math.exp(-0.5 * (Math.log(longestMm / USUAL_MM) / SPREAD) ** 2);
}

/** Whether the sides lie on sixteenths while at least one is off the tenths that metric designs favour. */
function onSixteenths(size: Vec3): boolean {
  const on = (parts: number) => (side: number) => Math.abs(side * parts - Math.round(side * parts)) < 1e-4 * parts;
  return size.every(on(16)) && !size.every(on(10)) && size.every((side) => side < 100);
}

function short(value: number): string {
  return String(Number(value.toPrecision(4)));
}
