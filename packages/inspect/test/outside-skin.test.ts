import { outsideSkin } from '@stonehand/inspect';
import { turnInsideOut } from '@stonehand/mesh';
import { expect, test } from 'vitest';
import { box, cup, lathe, shifted, together } from './solids.ts';

const ball = (radius: number): ReturnType<typeof lathe> =>
  lathe(
    Array.from({ length: 65 }, (_, i) => {
      const angle = (Math.PI * i) / 64 - Math.PI / 2;
      return [i === 0 || i === 64 ? 0 : radius * Math.cos(angle), radius * Math.sin(angle)] as const;
    }),
    96,
  );

test('all of a convex body is outside: a box has its whole area, and its centre', () => {
  const skin = outsideSkin(shifted(box([10, 20, 30]), [100, 0, 0]));
  expect(skin.outsideMm2).toBeCloseTo(2200, 9);
  expect(skin.wholeMm2).toBeCloseTo(2200, 9);
  expect(Math.hypot(skin.centreMm[0] - 105, skin.centreMm[1] - 10, skin.centreMm[2] - 15)).toBeLessThan(0.2);
});

test('a thin ball of 1 g has 2r²/3 about its middle (closed form), to the samples’ 1 %', () => {
  const { inertiaMm2 } = outsideSkin(ball(10));
  for (const k of [0, 1, 2]) expect(Math.abs(inertiaMm2[k]! / ((2 * 10 ** 2) / 3) - 1)).toBeLessThan(0.01);
  for (const k of [3, 4, 5]) expect(Math.abs(inertiaMm2[k]!)).toBeLessThan(1);
});

test('of a hollow ball only the outer face is painted', () => {
  const skin = outsideSkin(together(ball(20), turnInsideOut(ball(15))));
  const share = skin.outsideMm2 / skin.wholeMm2;
  expect(Math.abs(share - 20 ** 2 / (20 ** 2 + 15 ** 2))).toBeLessThan(0.005);
});

test('the inside of a deep cup is not outside, its rim and outer wall are', () => {
  // Radii 18 and 20, floor 2, 100 high: outer wall, bottom and rim against the walls and floor of the inside.
  const skin = outsideSkin(cup(18, 20, 2, 100, 96));
  const outer = 2 * Math.PI * 20 * 100 + Math.PI * 20 ** 2 + Math.PI * (20 ** 2 - 18 ** 2);
  // Near the mouth the inner wall sees a quarter of its directions: some 9 mm of the 98.
  const inner = 2 * Math.PI * 18 * 98;
  expect(skin.outsideMm2).toBeGreaterThan(0.98 * outer);
  expect(skin.outsideMm2).toBeLessThan(outer + 0.2 * inner);
});
