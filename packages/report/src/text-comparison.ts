import { formatLength } from '@stonehand/base';
import type { ShapeComparison } from '@stonehand/inspect';
import type { UnitsShown } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { type TextOptions, wrapText } from './text-table.ts';
import { sizeText } from './words.ts';

/** What two revisions of a mesh have in common, in a sentence, then the figures that differ. */
export function renderComparison(
  a: string,
  b: string,
  comparison: ShapeComparison,
  { width = 80, units = 'metric' }: TextOptions & { readonly units?: UnitsShown } = {},
): string {
  const { same, mirrored, scale, unitRatio, inPlace, distance, sizeMm, areaMm2, volumeMm3, toleranceMm } = comparison;
  const how: string[] = [];
  if (mirrored) how.push('mirrored');
  if (!inPlace) how.push('moved or turned');
  if (unitRatio !== undefined) how.push(unitRatio);
  else if (Math.abs(scale - 1) > 1e-6) how.push(`${scale.toFixed(4)} times as large`);
  const verdict = same
    ? `same shape${how.length === 0 ? ', in place' : `: ${how.join(', ')}`}`
    : `not the same shape${how.length === 0 ? '' : ` (best aligned ${how.join(', ')})`}`;
  const out = wrapText(plainLine(`${a} and ${b}: ${verdict}`), width);
  const row = (what: string, from: string, to: string): void => {
    out.push(plainLine(`  ${what.padEnd(9)} ${from} → ${to}`));
  };
  if (!same) {
    row('size', sizeText(sizeMm[0], units), sizeText(sizeMm[1], units));
    row('area', `${(areaMm2[0] / 100).toFixed(2)} cm²`, `${(areaMm2[1] / 100).toFixed(2)} cm²`);
    if (volumeMm3 !== undefined)
      row('volume', `${(volumeMm3[0] / 1000).toFixed(3)} cm³`, `${(volumeMm3[1] / 1000).toFixed(3)} cm³`);
    out.push(
      ...wrapText(
        plainLine(
          `  surfaces are ${formatLength(distance.meanMm, units)} apart on average and ${formatLength(distance.maxMm, units)} at most, at ${distance.samples} sampled places`,
        ),
        width,
      ),
    );
  } else {
    out.push(plainLine(`  everywhere within ${toleranceMm.toPrecision(2)} mm`));
  }
  return `${out.join('\n')}\n`;
}
