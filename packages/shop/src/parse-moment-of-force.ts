import { StonehandError } from '@stonehand/base';

/** Standard gravity (3rd CGPM 1901), pound and inch (1959): exact by definition. A servo's "kg cm" is kilograms-force times centimetres. */
const G = 9.80665;
const OUNCE_N = 0.028349523125 * G;
const UNITS_NMM: Readonly<Record<string, number>> = {
  nmm: 1,
  ncm: 10,
  nm: 1000,
  kgcm: G * 10,
  gcm: (G / 1000) * 10,
  ozin: OUNCE_N * 25.4,
  lbin: 16 * OUNCE_N * 25.4,
};

/**
 * Newton millimetres of a text such as `0.6 N m`, `6 kg cm`, `83 oz in`.
 * @throws StonehandError UNIT_INVALID
 */
export function parseMomentNmm(text: string): number {
  const match = /^\s*(\d+(?:\.\d+)?|\.\d+)\s*([a-z]+)[\s.·*-]?([a-z]*)\s*$/i.exec(text);
  const unit = match === null ? undefined : UNITS_NMM[`${match[2]}${match[3]}`.toLowerCase()];
  if (match !== null && unit !== undefined) return Number(match[1]) * unit;
  throw new StonehandError(
    'UNIT_INVALID',
    `"${text}" is not a moment`,
    'Write a number with N m, N cm, N mm, kg cm, oz in or lb in.',
  );
}
