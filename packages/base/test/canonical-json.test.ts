import { canonicalJson, hashValue, nearestName, seededRandom } from '@stonehand/base';
import fc from 'fast-check';
import { expect, test } from 'vitest';

test('the worked example of RFC 8785 section 3.2.2 comes out as printed there', () => {
  const value = JSON.parse(
    '{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals":[null,true,false]}',
  );
  expect(canonicalJson(value)).toBe(
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}',
  );
});

test('what is written is read back, whatever the order of keys', () => {
  fc.assert(
    fc.property(fc.jsonValue(), (value) => {
      expect(JSON.parse(canonicalJson(value))).toEqual(JSON.parse(JSON.stringify(value)));
    }),
    { seed: 4 },
  );
  expect(hashValue({ a: 1, b: { d: 2, c: 3 } })).toBe(hashValue({ b: { c: 3, d: 2 }, a: 1 }));
});

test('numbers that JSON cannot hold are refused', () => {
  expect(() => canonicalJson({ x: Number.NaN })).toThrow(TypeError);
});

test('the nearest name is offered only when it is near', () => {
  expect(nearestName('quantiy', ['quantity', 'quality'])).toBe('quantity');
  expect(nearestName('wheel', ['quantity', 'quality'])).toBeUndefined();
});

test('seeded numbers repeat, fill the interval evenly and have the normal spread they promise', () => {
  const a = seededRandom(7);
  const b = seededRandom(7);
  const n = 20_000;
  const counts = new Array<number>(10).fill(0);
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const u = a.next();
    expect(u).toBe(b.next());
    counts[Math.floor(u * 10)]!++;
  }
  for (let i = 0; i < n; i++) {
    const x = a.normal();
    sum += x;
    squares += x * x;
  }
  // Five standard errors: √(n·0.1·0.9) ≈ 42; 1/√n ≈ 0.0071; √(2/n) = 0.01.
  for (const count of counts) expect(Math.abs(count - n / 10)).toBeLessThan(5 * 43);
  expect(Math.abs(sum / n)).toBeLessThan(5 * 0.0071);
  expect(Math.abs(squares / n - 1)).toBeLessThan(5 * 0.01);
});
