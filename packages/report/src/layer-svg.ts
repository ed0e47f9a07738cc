import type { Estimate, Recipe } from '@stonehand/model';
import { cividis } from './colours.ts';
import { num, svgDocument, svgLine, svgText } from './svg.ts';

/** As many as the eye tells apart in columns of 2 px. */
const SHADES = 15;

export type LayerDrawing = Readonly<{
  estimate: Pick<Estimate, 'layerS' | 'layerG'>;
  recipe?: Pick<Recipe, 'leastLayerS'> | undefined;
  widthPx?: number;
  heightPx?: number;
}>;

/**
 * Seconds of each layer from first (left) to last, coloured by the layer's grams from few (dark) to many; dashed: the recipe's least
 * seconds, below which a layer is slowed. Layers share columns where there are more of them than pixels. Empty without layers.
 */
export function layerSvg({ estimate, recipe, widthPx = 200, heightPx = 44 }: LayerDrawing): string {
  const { layerS, layerG } = estimate;
  if (layerS.length === 0) return '';
  const columns = Math.min(layerS.length, Math.floor(widthPx / 2));
  const seconds = shared(layerS, columns);
  const grams = shared(layerG, columns);
  const most = Math.max(...seconds, recipe?.leastLayerS ?? 0, 1e-9);
  const mostG = Math.max(...grams, 1e-9);
  const base = heightPx - 12;
  const wide = widthPx / columns;
  // One path for all columns of a shade: a page holds hundreds of these drawings.
  const shades = new Map<number, string>();
  seconds.forEach((s, i) => {
    const shade = Math.round((grams[i]! / mostG) * SHADES);
    const h = num((s / most) * (base - 2));
    shades.set(shade, `${shades.get(shade) ?? ''}M${num(i * wide)} ${base}v-${h}h${num(wide + 0.3)}v${h}z`);
  });
  const body: string[] = [...shades].map(([shade, path]) => {
    const [r, g, b] = cividis(shade / SHADES);
    return `<path d="${path}" fill="rgb(${r},${g},${b})"/>`;
  });
  const least = recipe?.leastLayerS ?? 0;
  if (least > 0) {
    const y = base - (least / most) * (base - 2);
    body.push(svgLine(0, y, widthPx, y, 'var(--ink,#1d1c1a)', 0.8, ' stroke-dasharray="3 3"'));
  }
  body.push(svgLine(0, base, widthPx, base, 'var(--soft,#595650)', 0.8));
  body.push(
    svgText(0, heightPx - 2, `${layerS.length} layers, to ${secondsText(Math.max(...layerS))}`, {
      soft: true,
      size: 9.5,
    }),
  );
  const says = `seconds of ${layerS.length} layers, ${secondsText(Math.min(...layerS))} to ${secondsText(Math.max(...layerS))}`;
  return svgDocument(
    [0, 0, widthPx, heightPx],
    says,
    body.join(''),
    ` width="${num(widthPx)}" height="${num(heightPx)}"`,
  );
}

/** Means over groups of neighbours, so that the columns' sum stays that of the layers. */
function shared(values: readonly number[], columns: number): number[] {
  return Array.from({ length: columns }, (_, i) => {
    const from = Math.floor((i * values.length) / columns);
    const to = Math.max(from + 1, Math.floor(((i + 1) * values.length) / columns));
    let sum = 0;
    for (let k = from; k < to; k++) sum += values[k] ?? 0;
    return sum / (to - from);
  });
}

function secondsText(s: number): string {
  return s < 9.95 ? `${Number(s.toFixed(1))} s` : s < 99.5 ? `${Math.round(s)} s` : `${Math.round(s / 60)} min`;
}
