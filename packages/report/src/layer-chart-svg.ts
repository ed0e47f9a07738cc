import type { Estimate, Recipe } from '@stonehand/model';
import { num, svgDocument, svgLine, svgText } from './svg.ts';

export type LayerChartDrawing = Readonly<{
  name: string;
  estimate: Pick<Estimate, 'layerS' | 'layerG'>;
  recipe: Pick<Recipe, 'layerMm' | 'firstLayerMm' | 'leastLayerS'>;
  widthPx?: number;
}>;

const LEFT_PX = 58;
const PANEL_PX = 120;
const GAP_PX = 26;
const TOP_PX = 46;

/**
 * Seconds (above) and grams (below) of every layer over its height. Solid: the layer as the machine could print it; where that is less than the recipe's
 * least seconds, a lighter area shows what it waits. Empty without layers.
 */
export function layerChartSvg({ name, estimate, recipe, widthPx = 760 }: LayerChartDrawing): string {
  const { layerS, layerG } = estimate;
  const n = layerS.length;
  if (n === 0) return '';
  const slowed = layerS.map((s) => Math.max(s, recipe.leastLayerS));
  const topMm = recipe.firstLayerMm + (n - 1) * recipe.layerMm;
  const x = (layer: number): number => LEFT_PX + ((widthPx - LEFT_PX - 8) * layer) / n;
  const secondsAt = TOP_PX + PANEL_PX;
  const gramsAt = secondsAt + GAP_PX + PANEL_PX;
  const most = niceTop(Math.max(...slowed));
  const mostG = niceTop(Math.max(...layerG));
  const waits = slowed.some((s, i) => s > layerS[i]!);
  const body = [
    svgText(0, 14, name, { strong: true, size: 13 }),
    ...axis(secondsAt, most, 's', widthPx),
    ...(waits ? [area(slowed, most, secondsAt, x, 'var(--accent-soft,#d8c9a6)')] : []),
    area(layerS, most, secondsAt, x, 'var(--c1,#0072B2)'),
    ...axis(gramsAt, mostG, 'g', widthPx),
    area(layerG, mostG, gramsAt, x, 'var(--c2,#E69F00)'),
    svgText(
      LEFT_PX,
      TOP_PX - 8,
      waits ? 'seconds a layer (pale: waits for the least seconds)' : 'seconds a layer',
      SOFT,
    ),
    svgText(LEFT_PX, secondsAt + GAP_PX - 8, 'grams a layer', SOFT),
    ...heights(topMm, gramsAt, (mm) => x((mm / topMm) * n)),
  ];
  const says = `${name}: seconds and grams of ${n} layers, ${num(Math.min(...slowed))} to ${num(Math.max(...slowed))} s and ${num(Math.min(...layerG), 2)} to ${num(Math.max(...layerG), 2)} g`;
  return svgDocument([0, 0, widthPx, gramsAt + 34], says, body.join(''));
}

const SOFT = { soft: true, size: 11 } as const;

/** Steps of the layers as one filled outline. */
function area(
  values: readonly number[],
  most: number,
  baseY: number,
  x: (layer: number) => number,
  fill: string,
): string {
  const steps = values.map((value, i) => {
    const y = num(baseY - (value / most) * PANEL_PX);
    return `L${num(x(i))} ${y}L${num(x(i + 1))} ${y}`;
  });
  return `<path d="M${num(x(0))} ${num(baseY)}${steps.join('')}L${num(x(values.length))} ${num(baseY)}Z" fill="${fill}"/>`;
}

function axis(baseY: number, most: number, unit: string, widthPx: number): string[] {
  return [0, 0.5, 1].flatMap((share) => {
    const y = baseY - share * PANEL_PX;
    const value = share * most;
    return [
      svgLine(LEFT_PX, y, widthPx - 8, y),
      svgText(LEFT_PX - 6, y + 4, `${Number(value.toPrecision(3))} ${unit}`, { ...SOFT, anchor: 'end' }),
    ];
  });
}

function heights(topMm: number, baseY: number, x: (mm: number) => number): string[] {
  const step = niceTop(topMm / 6);
  const marks: string[] = [];
  for (let mm = 0; mm <= topMm + 1e-9; mm += step) {
    marks.push(svgText(x(mm), baseY + 15, String(Number(mm.toPrecision(3))), { ...SOFT, anchor: 'middle' }));
  }
  marks.push(svgText(x(topMm / 2), baseY + 30, 'height above the plate, mm', { ...SOFT, anchor: 'middle' }));
  return marks;
}

/** The next round number: 1, 2, 2.5 or 5 times a power of ten. */
function niceTop(value: number): number {
  const power = 10 ** Math.floor(Math.log10(Math.max(value, 1e-9)));
  return [1, 2, 2.5, 5, 10].map((k) => k * power).find((nice) => nice >= value - 1e-9) ?? 10 * power;
}
