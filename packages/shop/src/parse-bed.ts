import { parseLengthMm, StonehandError } from '@stonehand/base';

/** The space a printer can build in. */
export type Bed =
  | Readonly<{ shape: 'rectangle'; widthMm: number; depthMm: number; heightMm: number }>
  | Readonly<{ shape: 'round'; diameterMm: number; heightMm: number }>;

const REMEDY = 'Write width x depth x height, such as 220x220x250, or round:250x300 (diameter x height).';
// No filament printer for a home is larger; a bed of 22 cm typed as 220 in would be.
const LARGEST_MM = 5000;

/**
 * A bed from `220x220x250`, `220 x 220 x 250`, `8.5 in x 8.5 in x 10 in`, `round:250x300` or `round 250 x 300`.
 * @throws StonehandError USAGE
 */
export function parseBed(text: string): Bed {
  const fail = (why: string): never => {
    throw new StonehandError('USAGE', `"${text}" is not a build volume: ${why}`, REMEDY);
  };
  const round = /^\s*round\s*[:\s]\s*/i.exec(text);
  const sizes = text.slice(round?.[0].length ?? 0).split(/\s*[x×]\s*/i);
  const wanted = round === null ? 3 : 2;
  if (sizes.length !== wanted) return fail(`${wanted} sizes are needed, ${sizes.length} given`);
  const mm = sizes.map((size) => {
    try {
      return parseLengthMm(size);
    } catch {
      return fail(`"${size}" is not a length`);
    }
  });
  if (!mm.every((size) => size > 0 && size <= LARGEST_MM))
    return fail(`every size must be above 0 and at most ${LARGEST_MM} mm`);
  return round === null
    ? { shape: 'rectangle', widthMm: mm[0]!, depthMm: mm[1]!, heightMm: mm[2]! }
    : { shape: 'round', diameterMm: mm[0]!, heightMm: mm[1]! };
}

/** The shortest text that parseBed reads as the same bed. */
export function formatBed(bed: Bed): string {
  return bed.shape === 'round'
    ? `round:${bed.diameterMm}x${bed.heightMm}`
    : `${bed.widthMm}x${bed.depthMm}x${bed.heightMm}`;
}
