import { loadPolygons, type Rings, ringsAreaMm2, ringsOf } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';

const polygons = await loadPolygons();

describe('offsets without the clipper are taken only where they are true', () => {
  test('walls that vanish along the line on which they meet their feet', () => {
    // Moved in by 1.5 mm the walls of 2.6 mm turn inside out, and the ends of the cavity come to lie on the feet's edges: no edge crosses another.
    const moved = ringsAreaMm2(polygons.offset(arch(), -1.5));
    // What is left are two feet of 18 × 10 mm less 1.5 mm all around.
    expect(moved).toBeCloseTo(2 * (18 - 3) * (10 - 3), 6);
    expect(polygons.shiftChecked(arch(), -1.5)).toBeUndefined();
  });
});

/** Half a ring of 111 to 127 mm radius, hollow with walls of 2.6 mm, on two feet of 18 × 10 mm. */
function arch(): Rings {
  const centre = 127.5;
  const curve = (radius: number, from: number, to: number): [number, number][] =>
    Array.from({ length: 33 }, (_, k) => {
      const turn = Math.PI * (from + ((to - from) * k) / 32);
      const flat = k === 0 || k === 32;
      return [centre + radius * Math.cos(turn), flat ? 0 : radius * Math.sin(turn)];
    });
  const outline: [number, number][] = [
    [0, 0],
    ...curve(127, 1, 2),
    [255, 0],
    [255, 10],
    [237, 10],
    [237, 0],
    ...curve(111, 2, 1),
    [18, 0],
    [18, 10],
    [0, 10],
  ];
  const cavity = [...curve(124.4, 2, 1), ...curve(113.6, 1, 2)];
  return ringsOf([outline, orientedAsHole(cavity)]);
}

function orientedAsHole(ring: [number, number][]): [number, number][] {
  const area = ring.reduce((sum, [x, y], i) => {
    const [px, py] = ring[(i + ring.length - 1) % ring.length];
    return sum + (px * y - x * py) / 2;
  }, 0);
  return area < 0 ? ring : ring.toReversed();
}
