import { convexHull, hull2 } from '@stonehand/orient';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

/** Integer grids give many coplanar, collinear and repeated points; halves keep every product exact in a double. */
const gridPoint = fc.tuple(
  fc.integer({ min: 0, max: 4 }),
  fc.integer({ min: 0, max: 4 }),
  fc.integer({ min: 0, max: 4 }),
);
const anyPoint = fc.tuple(...[0, 1, 2].map(() => fc.double({ min: -300, max: 300, noNaN: true })));
const cloud = fc.oneof(fc.array(gridPoint, { maxLength: 60 }), fc.array(anyPoint, { maxLength: 60 }));

test('the hull is closed, faces outwards and leaves no point outside, exactly', () => {
  fc.assert(
    fc.property(fc.array(gridPoint, { minLength: 1, maxLength: 80 }), (points) => {
      const p = Float64Array.from(points.flat());
      const { triangles, vertices } = convexHull(p);
      const edges = new Map<string, number>();
      for (let t = 0; t < triangles.length; t += 3) {
        const [a, b, c] = [triangles[t]!, triangles[t + 1]!, triangles[t + 2]!];
        for (const [u, v] of [
          [a, b],
          [b, c],
          [c, a],
        ]) {
          edges.set(`${u},${v}`, (edges.get(`${u},${v}`) ?? 0) + 1);
        }
        // Coordinates are small whole numbers, so this determinant is exact.
        for (let i = 0; i < points.length; i++) expect(volume6(p, a, b, c, i)).toBeLessThanOrEqual(0);
      }
      for (const key of edges.keys()) {
        const [u, v] = key.split(',');
        expect(edges.get(`${v},${u}`)).toBe(edges.get(key));
      }
      const onTriangles = new Set(triangles);
      if (triangles.length > 0) expect([...onTriangles].sort((x, y) => x - y)).toEqual([...vertices]);
      else expect(vertices.length).toBeLessThanOrEqual(2);
    }),
    { seed: 4, numRuns: 300 },
  );
});

test('a point added inside the hull changes nothing', () => {
  fc.assert(
    fc.property(cloud, (points) => {
      fc.pre(points.length > 0);
      const p = points.flat();
      const mean = [0, 1, 2].map((k) => points.reduce((sum, q) => sum + q[k]!, 0) / points.length);
      const more = Float64Array.from([...p, ...mean]);
      const before = hullVolume(Float64Array.from(p));
      expect(hullVolume(more)).toBeCloseTo(before, 3);
    }),
    { seed: 5 },
  );
});

describe('regular solids (volumes in closed form)', () => {
  const g = (1 + Math.sqrt(5)) / 2;
  const signs = [-1, 1];
  const cube = signs.flatMap((x) => signs.flatMap((y) => signs.map((z) => [x, y, z])));
  const gold = signs.flatMap((a) => signs.map((b) => [a, b] as const));
  const icosahedron = gold.flatMap(([a, b]) => [
    [0, a, b * g],
    [a, b * g, 0],
    [b * g, 0, a],
  ]);
  const dodecahedron = [
    ...cube,
    ...gold.flatMap(([a, b]) => [
      [0, a / g, b * g],
      [a / g, b * g, 0],
      [b * g, 0, a / g],
    ]),
  ];
  test.each([
    { name: 'cube, edge 2', points: cube, volume: 8 },
    {
      name: 'octahedron, edge √2',
      points: [
        [1, 0, 0],
        [-1, 0, 0],
        [0, 1, 0],
        [0, -1, 0],
        [0, 0, 1],
        [0, 0, -1],
      ],
      volume: 4 / 3,
    },
    { name: 'icosahedron, edge 2: 10·(3 + √5)/3', points: icosahedron, volume: (10 * (3 + Math.sqrt(5))) / 3 },
    {
      name: 'dodecahedron, edge 2/φ: (15 + 7√5)/4·edge³',
      points: dodecahedron,
      volume: ((15 + 7 * Math.sqrt(5)) / 4) * (2 / g) ** 3,
    },
  ])('$name', ({ points, volume }) => {
    expect(hullVolume(Float64Array.from(points.flat()))).toBeCloseTo(volume, 10);
  });
});

test('a cube with points all over its faces keeps its volume', () => {
  const points: number[] = [];
  for (let i = 0; i <= 10; i++) {
    for (let j = 0; j <= 10; j++) {
      for (const k of [0, 10]) points.push(i, j, k, i, k, j, k, i, j);
    }
  }
  expect(hullVolume(Float64Array.from(points))).toBe(1000);
});

test('points in one plane, on one line and in one place', () => {
  const square = Float64Array.from([0, 0, 0, 2, 0, 2, 2, 2, 4, 0, 2, 2, 1, 1, 2]);
  expect(convexHull(square).vertices).toEqual(Uint32Array.of(0, 1, 2, 3));
  expect(convexHull(square).triangles.length).toBe(12);
  expect([...convexHull(Float64Array.from([1, 1, 1, 0, 0, 0, 3, 3, 3, 2, 2, 2])).vertices]).toEqual([1, 2]);
  expect([...convexHull(Float64Array.from([5, 5, 5, 5, 5, 5])).vertices]).toHaveLength(1);
  expect(convexHull([]).vertices).toHaveLength(0);
});

test('the plane hull turns left at every corner and holds every point', () => {
  fc.assert(
    fc.property(
      fc.array(fc.tuple(fc.integer({ min: 0, max: 6 }), fc.integer({ min: 0, max: 6 })), { minLength: 3 }),
      (points) => {
        const hull = hull2(points.flat());
        const n = hull.length / 2;
        for (let i = 0; i < n && n > 2; i++) {
          const at = (k: number): [number, number] => [hull[2 * ((i + k) % n)]!, hull[2 * ((i + k) % n) + 1]!];
          expect(cross(at(0), at(1), at(2))).toBeGreaterThan(0);
          for (const p of points) expect(cross(at(0), at(1), p)).toBeGreaterThanOrEqual(0);
        }
      },
    ),
    { seed: 6 },
  );
  expect([...hull2([0, 0, 1, 1, 2, 2])]).toEqual([0, 0, 2, 2]);
  expect([...hull2([3, 3, 3, 3])]).toEqual([3, 3]);
});

function cross(a: readonly [number, number], b: readonly [number, number], c: readonly [number, number]): number {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

/** Six times the volume of a tetrahedron, positive when d is on the counter-clockwise side of a, b, c. */
function volume6(p: Float64Array, a: number, b: number, c: number, d: number): number {
  const u = [0, 1, 2].map((k) => p[3 * b + k]! - p[3 * a + k]!) as [number, number, number];
  const v = [0, 1, 2].map((k) => p[3 * c + k]! - p[3 * a + k]!) as [number, number, number];
  const w = [0, 1, 2].map((k) => p[3 * d + k]! - p[3 * a + k]!) as [number, number, number];
  return (u[1] * v[2] - u[2] * v[1]) * w[0] + (u[2] * v[0] - u[0] * v[2]) * w[1] + (u[0] * v[1] - u[1] * v[0]) * w[2];
}

function hullVolume(p: Float64Array): number {
  const { triangles } = convexHull(p);
  let sum = 0;
  for (let t = 0; t < triangles.length; t += 3)
    sum -= volume6(p, triangles[t]!, triangles[t + 1]!, triangles[t + 2]!, 0);
  return sum / 6;
}
