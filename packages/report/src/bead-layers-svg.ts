import { cividis } from './colours.ts';
import { num, svgDocument, svgLine, svgRect, svgText } from './svg.ts';

/** One stroke of the nozzle: x, y pairs in mm; travel has no width. */
export type BeadStroke = Readonly<{ xyMm: ArrayLike<number>; closed: boolean; widthMm: number; speedMmS: number }>;
export type BeadLayer = Readonly<{ title: string; strokes: readonly BeadStroke[] }>;

export type BeadLayersDrawing = Readonly<{
  name: string;
  layers: readonly BeadLayer[];
  /** width of one layer's picture */
  panelPx?: number;
}>;

const GAP_PX = 18;
const HEAD_PX = 40;
const FOOT_PX = 52;
const RULERS_MM = [1, 2, 5, 10, 20, 50, 100];

/**
 * Layers side by side to one scale, every bead as broad as it is laid down and coloured by its mean speed from slow (dark) to fast; travel as thin
 * lines. Below: the scale of the speeds, and a ruler.
 */
export function beadLayersSvg({ name, layers, panelPx = 210 }: BeadLayersDrawing): string {
  const box = boxOf(layers);
  const beads = layers.flatMap(({ strokes }) => strokes).filter(({ widthMm }) => widthMm > 0);
  if (box === undefined || beads.length === 0) return '';
  const [slow, fast] = speedRange(beads);
  const pxPerMm = panelPx / Math.max(box.wide, box.high);
  const heightPx = box.high * pxPerMm;
  const widthPx = layers.length * box.wide * pxPerMm + (layers.length - 1) * GAP_PX;
  const body = [svgText(0, 14, name, { strong: true, size: 13 })];
  layers.forEach(({ title, strokes }, i) => {
    const left = i * (box.wide * pxPerMm + GAP_PX);
    body.push(svgText(left, HEAD_PX - 8, title, { soft: true, size: 11 }));
    // y of the plate points up.
    const place = `translate(${num(left - box.x0 * pxPerMm, 2)} ${num(HEAD_PX + heightPx + box.y0 * pxPerMm, 2)}) scale(${num(pxPerMm, 2)} ${num(-pxPerMm, 2)})`;
    const lines = strokes.map((stroke) => strokeSvg(stroke, (stroke.speedMmS - slow) / (fast - slow)));
    body.push(
      `<g transform="${place}" fill="none" stroke-linejoin="round" stroke-linecap="round">${lines.join('')}</g>`,
    );
  });
  const footY = HEAD_PX + heightPx + 24;
  body.push(speedScale(slow, fast, footY), ruler(widthPx, footY, pxPerMm));
  const says = `${name}: ${layers.length} layers, beads coloured by speed from ${Math.round(slow)} to ${Math.round(fast)} mm/s`;
  return svgDocument([-4, -2, widthPx + 8, footY + FOOT_PX - 18], says, body.join(''));
}

/** Speeds between which all but a few per cent of the laid length lies: a crumb of a bead must not set the scale. */
function speedRange(beads: readonly BeadStroke[]): [number, number] {
  const rows = beads.map((bead) => ({ speed: bead.speedMmS, mm: lengthOf(bead) })).sort((a, b) => a.speed - b.speed);
  const total = rows.reduce((sum, { mm }) => sum + mm, 0);
  const at = (share: number): number => {
    let sum = 0;
    for (const { speed, mm } of rows) {
      sum += mm;
      if (sum >= share * total) return speed;
    }
    return rows.at(-1)!.speed;
  };
  const slow = at(EDGE_SHARE);
  return [slow, Math.max(slow + 1, at(1 - EDGE_SHARE))];
}

const EDGE_SHARE = 0.02;

function lengthOf({ xyMm, closed }: BeadStroke): number {
  let sum = 0;
  for (let i = 2; i + 1 < xyMm.length; i += 2) sum += Math.hypot(xyMm[i]! - xyMm[i - 2]!, xyMm[i + 1]! - xyMm[i - 1]!);
  const last = xyMm.length - 2;
  return closed && last > 0 ? sum + Math.hypot(xyMm[0]! - xyMm[last]!, xyMm[1]! - xyMm[last + 1]!) : sum;
}

type Extent = Readonly<{ x0: number; y0: number; wide: number; high: number }>;

function boxOf(layers: readonly BeadLayer[]): Extent | undefined {
  let [x0, y0] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [x1, y1] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { strokes } of layers)
    for (const { xyMm, widthMm } of strokes)
      for (let i = 0; i + 1 < xyMm.length; i += 2) {
        if (widthMm === 0) continue;
        x0 = Math.min(x0, xyMm[i]! - widthMm / 2);
        x1 = Math.max(x1, xyMm[i]! + widthMm / 2);
        y0 = Math.min(y0, xyMm[i + 1]! - widthMm / 2);
        y1 = Math.max(y1, xyMm[i + 1]! + widthMm / 2);
      }
  return x1 > x0 ? { x0, y0, wide: x1 - x0, high: y1 - y0 } : undefined;
}

function strokeSvg({ xyMm, closed, widthMm }: BeadStroke, share: number): string {
  const points: string[] = [];
  for (let i = 0; i + 1 < xyMm.length; i += 2) points.push(`${num(xyMm[i]!, 2)} ${num(xyMm[i + 1]!, 2)}`);
  const path = `M${points.join('L')}${closed ? 'Z' : ''}`;
  if (widthMm === 0) return `<path d="${path}" stroke="var(--soft,#595650)" stroke-width=".12" stroke-opacity=".5"/>`;
  const [r, g, b] = cividis(share);
  // A hair's breadth less than laid down, so that neighbours can be told apart.
  return `<path d="${path}" stroke="rgb(${r},${g},${b})" stroke-width="${num(0.86 * widthMm, 2)}"/>`;
}

function speedScale(slow: number, fast: number, y: number): string {
  const widthPx = 220;
  const steps = 44;
  const out: string[] = [];
  for (let i = 0; i < steps; i++) {
    const [r, g, b] = cividis((i + 0.5) / steps);
    out.push(svgRect((i * widthPx) / steps, y, widthPx / steps + 0.4, 9, `rgb(${r},${g},${b})`));
  }
  for (const share of [0, 0.5, 1]) {
    const anchor = share === 0 ? 'start' : share === 1 ? 'end' : 'middle';
    const speed = `${Math.round(slow + share * (fast - slow))}${share === 1 ? ' mm/s' : ''}`;
    out.push(svgText(share * widthPx, y + 22, speed, { anchor, soft: true, size: 11 }));
  }
  out.push(svgText(0, y - 5, 'mean speed of a bead, stops and corners included', { soft: true, size: 11 }));
  return out.join('');
}

function ruler(rightPx: number, y: number, pxPerMm: number): string {
  const mm = RULERS_MM.filter((length) => length * pxPerMm <= 160).at(-1) ?? RULERS_MM[0]!;
  const left = rightPx - mm * pxPerMm;
  return [
    svgLine(left, y + 5, rightPx, y + 5, 'var(--ink,#1d1c1a)', 1.2),
    svgLine(left, y + 1, left, y + 9, 'var(--ink,#1d1c1a)', 1.2),
    svgLine(rightPx, y + 1, rightPx, y + 9, 'var(--ink,#1d1c1a)', 1.2),
    svgText((left + rightPx) / 2, y + 22, `${mm} mm`, { anchor: 'middle', soft: true, size: 11 }),
  ].join('');
}
