export {
  type Affine,
  affineOf,
  applyAffine,
  composeAffine,
  determinant,
  IDENTITY_AFFINE,
  invertAffine,
  rotationOfTurns,
} from './affine.ts';
export { canonicalJson } from './canonical-json.ts';
export { ERROR_CODES, type ErrorCode, type ErrorPlace, StonehandError } from './errors.ts';
export { hashBytes, hashValue } from './hash.ts';
export { type Random, seededRandom } from './random.ts';
export { nearestName } from './text.ts';
export {
  formatDuration,
  formatLength,
  formatMass,
  G_PER_OUNCE,
  MM_PER_INCH,
  parseLengthMm,
  parseMassG,
  type UnitSystem,
} from './units.ts';
