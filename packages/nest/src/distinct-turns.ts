import { cosSinDeg, type Shape } from './shape.ts';

// A copy turned onto itself to within this is the same for placing, and each turn spared spares its tables.
const SAME_MM = 0.1;

/** The turns of a list that make a difference: one for a disc, half of them for a bar. */
export function distinctTurns(shape: Shape, turnsDeg: readonly number[]): number[] {
  const kept: number[] = [];
  const same = new Map<number, boolean>();
  for (const turn of turnsDeg) {
    const isNew = kept.every((other) => {
      const by = Math.round(((((turn - other) % 360) + 360) % 360) * 1e6) / 1e6;
      if (!same.has(by)) same.set(by, mapsOntoItself(shape, by));
      return !same.get(by);
    });
    if (isNew) kept.push(turn);
  }
  return kept;
}

/** Whether every corner of every part, turned about the middle of area, lies on a corner again. */
function mapsOntoItself(shape: Shape, deg: number): boolean {
  const [cos, sin] = cosSinDeg(deg);
  const [cx, cy] = middleOf(shape);
  const corners = shape.outlineXy;
  for (let i = 0; i < corners.length; i += 2) {
    const x = cx + cos * (corners[i]! - cx) - sin * (corners[i + 1]! - cy);
    const y = cy + sin * (corners[i]! - cx) + cos * (corners[i + 1]! - cy);
    let isOn = false;
    for (let k = 0; k < corners.length && !isOn; k += 2) {
      isOn = Math.abs(corners[k]! - x) < SAME_MM && Math.abs(corners[k + 1]! - y) < SAME_MM;
    }
    if (!isOn) return false;
  }
  return true;
}

function middleOf(shape: Shape): [number, number] {
  let area = 0;
  let mx = 0;
  let my = 0;
  for (const part of shape.parts) {
    for (let i = 0, j = part.length - 2; i < part.length; j = i, i += 2) {
      const twice = part[j]! * part[i + 1]! - part[j + 1]! * part[i]!;
      area += twice / 2;
      mx += ((part[j]! + part[i]!) * twice) / 6;
      my += ((part[j + 1]! + part[i + 1]!) * twice) / 6;
    }
  }
  return [mx / area, my / area];
}
