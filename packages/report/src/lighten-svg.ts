import type { Lightened } from '@stonehand/balance';
import type { UnitsShown } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { fitText, num, svgDocument, svgLine, svgText } from './svg.ts';
import { durationValue, massText, minus } from './words.ts';

const INK = 'var(--ink,#1d1c1a)';
const ROW = 24;

/** Grams saved by each change, largest first, with hours and stiffness in words beside each bar. */
export function savingsSvg(
  { changes }: Lightened,
  { units = 'metric', widthPx = 1040 }: Readonly<{ units?: UnitsShown; widthPx?: number }> = {},
): string {
  const left = Math.min(220, widthPx * 0.34);
  const right = widthPx < 600 ? 92 : 240;
  const most = Math.max(1, ...changes.map(({ savedG }) => Math.abs(savedG)));
  const body = changes.flatMap(({ name, copies, savedG, savedS, stiffness }, i) => {
    const y = 8 + ROW * i;
    const w = (Math.abs(savedG) / most) * (widthPx - left - right);
    const said = copies === 1 ? name : `${name}, ${copies} copies`;
    const grams = minus(massText({ value: savedG, from: '' }, units));
    const hours =
      Math.abs(savedS) < 60
        ? 'same time'
        : `${durationValue({ value: Math.abs(savedS), from: '' })} ${savedS > 0 ? 'less' : 'more'}`;
    const words = widthPx < 600 ? grams : `${grams}, ${hours}, ${Math.round(stiffness * 100)} % stiff`;
    return [
      svgText(0, y + 12, fitText(said, left - 8, 12), {}),
      `<rect x="${num(left)}" y="${num(y)}" width="${num(w)}" height="16" fill="${categoryColour(savedG >= 0 ? 2 : 5)}" fill-opacity=".55"/>`,
      svgText(left + w + 8, y + 12, words, { size: 11 }),
    ];
  });
  const label = `grams saved by ${changes.length} changes of recipe`;
  return svgDocument([0, 0, widthPx, ROW * changes.length + 10], label, body.join(''));
}

/** Mass against hours: every point is the way to be that light that costs least in hours and stiffness; the proposed one is marked. */
export function tradeOffSvg(
  { curve, before, beforeS }: Lightened,
  { units = 'metric', widthPx = 520 }: Readonly<{ units?: UnitsShown; widthPx?: number }> = {},
): string {
  const [height, left, foot] = [250, 56, 40];
  const today = { massG: before.massG.value, durationS: beforeS };
  const all = [...curve, today];
  const x = scale(
    all.map(({ massG }) => massG),
    left,
    widthPx - 20,
  );
  const y = scale(
    all.map(({ durationS }) => durationS),
    height - foot,
    16,
  );
  const body: string[] = [];
  for (const value of steps(
    all.map(({ massG }) => massG),
    5,
  )) {
    body.push(svgLine(x(value), 10, x(value), height - foot, 'var(--grid,#efebe1)'));
    body.push(
      svgText(x(value), height - foot + 16, massText({ value, from: '' }, units), {
        anchor: 'middle',
        size: 11,
        soft: true,
      }),
    );
  }
  for (const hours of steps(
    all.map(({ durationS }) => durationS / 3600),
    5,
  )) {
    body.push(svgLine(left, y(hours * 3600), widthPx - 12, y(hours * 3600), 'var(--grid,#efebe1)'));
    body.push(
      svgText(left - 6, y(hours * 3600) + 4, `${Number(hours.toFixed(2))} h`, { anchor: 'end', size: 11, soft: true }),
    );
  }
  for (const point of curve) {
    const [px, py] = [x(point.massG), y(point.durationS)];
    body.push(
      `<circle cx="${num(px)}" cy="${num(py)}" r="${point.chosen ? 6 : 3.5}" fill="${point.chosen ? 'var(--accent,#3a3f9f)' : INK}"><title>${massText({ value: point.massG, from: '' }, units)}, ${durationValue({ value: point.durationS, from: '' })}, mean stiffness ${Math.round(point.stiffness * 100)} %</title></circle>`,
    );
    if (point.chosen) body.push(svgText(px + 10, py - 8, 'proposed', { size: 11, strong: true, halo: true }));
  }
  const [tx, ty] = [x(today.massG), y(today.durationS)];
  body.push(`<circle cx="${num(tx)}" cy="${num(ty)}" r="5" fill="none" stroke="${INK}" stroke-width="1.6"/>`);
  body.push(svgText(tx - 9, ty - 8, 'today', { size: 11, anchor: 'end', halo: true }));
  body.push(svgText(widthPx - 12, height - 6, 'mass assembled', { size: 11, anchor: 'end', soft: true }));
  body.push(svgText(0, 10, 'printing', { size: 11, soft: true }));
  return svgDocument(
    [0, 0, widthPx, height],
    `mass against hours of printing, ${curve.length} best choices`,
    body.join(''),
  );
}

function scale(values: readonly number[], from: number, to: number): (value: number) => number {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max((high - low) * 0.08, 1e-9);
  return (value) => from + ((value - low + room) / (high - low + 2 * room)) * (to - from);
}

/** Round values inside a range: 1, 2 or 5 times a power of ten apart. */
function steps(values: readonly number[], count: number): number[] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const rough = (high - low) / count;
  if (!(rough > 0)) return [low];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((k) => k * power).find((s) => s >= rough)!;
  const out: number[] = [];
  for (let v = Math.ceil(low / step) * step; v <= high + step * 1e-9; v += step) out.push(v);
  return out;
}
