import type { Ring } from '@stonehand/model';
import fc from 'fast-check';

/** Stars with dents (seldom convex), brackets, hooks, discs, rings with a hole, bars: about 8 to 90 mm across. */
export function footprint(): fc.Arbitrary<readonly Ring[]> {
  return fc.oneof(star(), bracket(), hook(), disc(), ring(), bar());
}

function star(): fc.Arbitrary<readonly Ring[]> {
  return fc
    .array(fc.double({ min: 4, max: 45, noNaN: true }), { minLength: 3, maxLength: 14 })
    .map((radii) => [radii.map((r, k) => polar(r, (2 * Math.PI * k) / radii.length))]);
}

function bracket(): fc.Arbitrary<readonly Ring[]> {
  return fc.tuple(size(20, 80), size(20, 80), size(4, 15)).map(([w, h, t]) => [
    [
      [0, 0],
      [w, 0],
      [w, t],
      [t, t],
      [t, h],
      [0, h],
    ],
  ]);
}

function hook(): fc.Arbitrary<readonly Ring[]> {
  return fc.tuple(size(30, 70), size(30, 90), size(4, 9)).map(([w, h, t]) => [
    [
      [0, 0],
      [w, 0],
      [w, h / 2],
      [w - t, h / 2],
      [w - t, t],
      [t, t],
      [t, h],
      [0, h],
    ],
  ]);
}

function disc(): fc.Arbitrary<readonly Ring[]> {
  return fc.tuple(size(4, 40), fc.integer({ min: 12, max: 60 })).map(([r, n]) => [circle(r, n)]);
}

function ring(): fc.Arbitrary<readonly Ring[]> {
  return fc
    .tuple(size(20, 45), size(3, 10), fc.integer({ min: 12, max: 48 }))
    .map(([r, wall, n]) => [circle(r, n), [...circle(r - wall, n)].reverse()]);
}

function bar(): fc.Arbitrary<readonly Ring[]> {
  return fc.tuple(size(8, 150), size(5, 20)).map(([w, h]) => [
    [
      [-w / 2, 0],
      [w / 2, 0],
      [w / 2, h],
      [-w / 2, h],
    ],
  ]);
}

export function circle(radiusMm: number, corners: number, x = 0, y = 0): [number, number][] {
  return Array.from({ length: corners }, (_, k) => {
    const [px, py] = polar(radiusMm, (2 * Math.PI * k) / corners);
    return [x + px, y + py];
  });
}

function polar(r: number, rad: number): [number, number] {
  return [r * Math.cos(rad), r * Math.sin(rad)];
}

function size(min: number, max: number): fc.Arbitrary<number> {
  return fc.double({ min, max, noNaN: true });
}
