import type { PieceView } from '@stonehand/report';

const NAMESPACE = 'http://www.w3.org/2000/svg';
const WIDTH = 600;
const PANEL = 44;
const GAP = 16;
const LEFT = 44;

export type LayerChart = Readonly<{
  element: SVGSVGElement;
  /** moves the line to a layer */
  mark: (layer: number) => void;
}>;

/** Seconds and grams of each layer over each other, plate to top from left to right: the way to move through the layers. */
export function layerChart(
  layers: NonNullable<PieceView['layers']>,
  withPaths: readonly number[],
  onPick: (layer: number) => void,
): LayerChart {
  const svg = make('svg', { viewBox: `0 0 ${WIDTH} ${2 * PANEL + 2 * GAP + 10}`, role: 'img' });
  svg.setAttribute('aria-label', `seconds and grams of ${layers.s.length} layers`);
  const count = layers.s.length;
  const x = (layer: number): number => LEFT + ((layer + 0.5) / count) * (WIDTH - LEFT);
  const panel = (values: readonly number[], top: number, unit: string, least: number): void => {
    const most = Math.max(...values, least, 1e-9);
    const step = (WIDTH - LEFT) / count;
    const path = values.map((value, i) => {
      const y = top + PANEL - (value / most) * PANEL;
      return `${i === 0 ? 'M' : 'L'}${(LEFT + i * step).toFixed(1)} ${y.toFixed(1)}H${(LEFT + (i + 1) * step).toFixed(1)}`;
    });
    svg.append(
      make('path', { d: `${path.join('')}V${top + PANEL}H${LEFT}Z`, fill: 'var(--accent)', 'fill-opacity': '.35' }),
      make('line', { x1: LEFT, x2: WIDTH, y1: top + PANEL, y2: top + PANEL, stroke: 'var(--soft)' }),
      label(LEFT - 5, top + 10, `${Number(most.toPrecision(2))} ${unit}`),
      label(LEFT - 5, top + PANEL, '0'),
    );
    if (least > 0) {
      const y = top + PANEL - (least / most) * PANEL;
      svg.append(make('line', { x1: LEFT, x2: WIDTH, y1: y, y2: y, stroke: 'var(--ink)', 'stroke-dasharray': '3 3' }));
    }
  };
  panel(layers.s, 4, 's', layers.leastS);
  panel(layers.g, PANEL + GAP + 4, 'g', 0);
  for (const layer of withPaths) {
    const y = 2 * PANEL + GAP + 7;
    svg.append(make('line', { x1: x(layer), x2: x(layer), y1: y, y2: y + 5, stroke: 'var(--soft)' }));
  }
  const cursor = make('line', { y1: 0, y2: 2 * PANEL + GAP + 12, stroke: 'var(--ink)', 'stroke-width': 1.6 });
  svg.append(cursor);
  const pick = (event: PointerEvent): void => {
    const box = svg.getBoundingClientRect();
    const at = ((event.clientX - box.left) / box.width) * WIDTH;
    onPick(Math.min(count - 1, Math.max(0, Math.floor(((at - LEFT) / (WIDTH - LEFT)) * count))));
  };
  svg.addEventListener('pointerdown', (event) => {
    svg.setPointerCapture(event.pointerId);
    pick(event);
  });
  svg.addEventListener('pointermove', (event) => {
    if (svg.hasPointerCapture(event.pointerId)) pick(event);
  });
  return {
    element: svg,
    mark: (layer) => {
      cursor.setAttribute('x1', x(layer).toFixed(1));
      cursor.setAttribute('x2', x(layer).toFixed(1));
    },
  };
}

function label(x: number, y: number, text: string): SVGElement {
  const element = make('text', { x, y, 'text-anchor': 'end', 'font-size': 11, fill: 'var(--soft)' });
  element.textContent = text;
  return element;
}

function make<K extends keyof SVGElementTagNameMap>(
  name: K,
  attributes: Readonly<Record<string, string | number>>,
): SVGElementTagNameMap[K] {
  const element = document.createElementNS(NAMESPACE, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}
