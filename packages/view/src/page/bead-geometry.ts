import { cividis } from '@stonehand/report';
import { BufferAttribute, BufferGeometry, Color } from 'three';
import type { LayerView } from '../layer-bytes.ts';

export type Quantity = 'speed' | 'seconds';

/** Position of `travel` in the order of kinds of package slice. */
const TRAVEL = 9;
/** Travel has no width of its own; drawn as a hair. */
const HAIR_MM = 0.08;

/** A layer's beads as flat ribbons of their width at the layer's top, coloured by a quantity of their path. */
export function beadGeometry(
  layer: LayerView,
  quantity: Quantity,
  withTravel: boolean,
): { geometry: BufferGeometry; least: number; most: number } {
  const { pathStart, xyMm, closed, kind, widthMm, speedMmS, topMm } = layer;
  const values = Array.from(kind, (_, p) => (quantity === 'speed' ? speedMmS[p]! : secondsOf(layer, p)));
  const shown = values.filter((_, p) => withTravel || kind[p] !== TRAVEL);
  const least = Math.min(...shown, Infinity);
  const most = Math.max(...shown, -Infinity);
  const corners: number[] = [];
  const colours: number[] = [];
  const colour = new Color();
  for (let p = 0; p < kind.length; p++) {
    if (kind[p] === TRAVEL && !withTravel) continue;
    const [r, g, b] = cividis(most > least ? (values[p]! - least) / (most - least) : 0.5);
    colour.setRGB(r / 255, g / 255, b / 255, 'srgb');
    const half = Math.max(HAIR_MM, widthMm[p]!) / 2;
    const from = pathStart[p]!;
    const to = pathStart[p + 1]!;
    for (let i = from; i < (closed[p] === 1 ? to : to - 1); i++) {
      const j = i + 1 === to ? from : i + 1;
      ribbon(corners, xyMm, i, j, half, topMm + (kind[p] === TRAVEL ? 0.1 : 0));
      for (let k = 0; k < 6; k++) colours.push(colour.r, colour.g, colour.b);
    }
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(Float32Array.from(corners), 3));
  geometry.setAttribute('color', new BufferAttribute(Float32Array.from(colours), 3));
  return { geometry, least: Number.isFinite(least) ? least : 0, most: Number.isFinite(most) ? most : 0 };
}

/** Two triangles from point i to point j, longer by half the width at each end so that corners close. */
function ribbon(out: number[], xy: Float32Array, i: number, j: number, half: number, z: number): void {
  const dx = xy[2 * j]! - xy[2 * i]!;
  const dy = xy[2 * j + 1]! - xy[2 * i + 1]!;
  const length = Math.hypot(dx, dy) || 1;
  const ux = (dx / length) * half * 0.92;
  const uy = (dy / length) * half * 0.92;
  const ax = xy[2 * i]! - ux * 0.6;
  const ay = xy[2 * i + 1]! - uy * 0.6;
  const bx = xy[2 * j]! + ux * 0.6;
  const by = xy[2 * j + 1]! + uy * 0.6;
  out.push(ax - uy, ay + ux, z, ax + uy, ay - ux, z, bx - uy, by + ux, z);
  out.push(bx - uy, by + ux, z, ax + uy, ay - ux, z, bx + uy, by - ux, z);
}

function secondsOf({ pathStart, xyMm, closed, speedMmS }: LayerView, p: number): number {
  let length = 0;
  const from = pathStart[p]!;
  const to = pathStart[p + 1]!;
  for (let i = from; i < (closed[p] === 1 ? to : to - 1); i++) {
    const j = i + 1 === to ? from : i + 1;
    length += Math.hypot(xyMm[2 * j]! - xyMm[2 * i]!, xyMm[2 * j + 1]! - xyMm[2 * i + 1]!);
  }
  return length / Math.max(1, speedMmS[p]!);
}
