import { affineOf, applyAffine, composeAffine, determinant, invertAffine, rotationOfTurns } from '@stonehand/base';
import fc from 'fast-check';
import { expect, test } from 'vitest';

const angle = fc.double({ min: -720, max: 720, noNaN: true });
const length = fc.double({ min: -500, max: 500, noNaN: true });
const place = fc
  .tuple(angle, angle, angle, length, length, length)
  .map(([x, y, z, a, b, c]) => affineOf(rotationOfTurns([x, y, z]), [a, b, c]));
const point = fc.tuple(length, length, length);

test('a turn keeps lengths and handedness', () => {
  fc.assert(
    fc.property(angle, angle, angle, point, (x, y, z, p) => {
      const m = affineOf(rotationOfTurns([x, y, z]), [0, 0, 0]);
      expect(Math.hypot(...applyAffine(m, p))).toBeCloseTo(Math.hypot(...p), 8);
      expect(determinant(m)).toBeCloseTo(1, 10);
    }),
    { seed: 2 },
  );
});

test('a placement undone is no placement, and two in a row are their product', () => {
  fc.assert(
    fc.property(place, place, point, (a, b, p) => {
      const there = applyAffine(a, applyAffine(b, p));
      const once = applyAffine(composeAffine(a, b), p);
      const back = applyAffine(invertAffine(composeAffine(a, b)), there);
      for (let i = 0; i < 3; i++) {
        expect(once[i]).toBeCloseTo(there[i]!, 7);
        expect(back[i]).toBeCloseTo(p[i]!, 6);
      }
    }),
    { seed: 3 },
  );
});

test('turns go about x, then y, then z', () => {
  // Worked by hand: x → (90° about x) x → (90° about y) −z → (90° about z) −z; y → z → x → y.
  const m = affineOf(rotationOfTurns([90, 90, 90]), [0, 0, 0]);
  expect(applyAffine(m, [1, 0, 0])).toEqual([0, 0, -1]);
  expect(applyAffine(m, [0, 1, 0])).toEqual([0, 1, 0]);
});

test('a singular placement cannot be undone', () => {
  expect(() => invertAffine([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0])).toThrow(RangeError);
});
