import { MM_PER_INCH, nearestName, StonehandError } from '@stonehand/base';

/**
 * Millimetres per unit. Names: the six of 3MF core 1.4.0 §3.4 and their common short forms.
 * Inch and foot are exact by definition (1959).
 * @throws StonehandError UNIT_INVALID for any other name
 */
export function unitToMm(unit: string): number {
  const factor = MM_PER_UNIT.get(unit.trim().toLowerCase());
  if (factor !== undefined) return factor;
  const near = nearestName(unit, MM_PER_UNIT.keys());
  throw new StonehandError(
    'UNIT_INVALID',
    `"${unit}" is not a unit of length${near === undefined ? '' : `; did you mean ${near}?`}`,
    'Use micron, mm, cm, m, in or ft.',
  );
}

const MM_PER_UNIT: ReadonlyMap<string, number> = new Map([
  ['micron', 0.001],
  ['micrometer', 0.001],
  ['um', 0.001],
  ['µm', 0.001],
  ['millimeter', 1],
  ['millimetre', 1],
  ['mm', 1],
  ['centimeter', 10],
  ['centimetre', 10],
  ['cm', 10],
  ['meter', 1000],
  ['metre', 1000],
  ['m', 1000],
  ['inch', MM_PER_INCH],
  ['in', MM_PER_INCH],
  ['foot', 304.8],
  ['feet', 304.8],
  ['ft', 304.8],
]);
