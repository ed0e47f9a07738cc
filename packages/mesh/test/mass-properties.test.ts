import { boundingBox, massProperties, mergeMeshes, topology, transformMesh, turnInsideOut } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { within } from './agreement.ts';
import { boxOf, convexBody, ngonColumn } from './shapes.ts';

const PHI = (1 + Math.sqrt(5)) / 2;
const signs: readonly number[] = [-1, 1];

// Closed forms; the printed digits of the tables end at 1e-6, so the formulas themselves are used where they are short.
const SOLIDS: readonly Readonly<{ name: string; mesh: Mesh; volume: number; area: number; source: string }>[] = [
  { name: 'box 10×20×30', mesh: boxOf(10, 20, 30), volume: 6000, area: 2200, source: 'abc, 2(ab + bc + ca)' },
  {
    name: 'regular tetrahedron, edge 10',
    mesh: scaled(
      convexBody([
        [1, 1, 1],
        [1, -1, -1],
        [-1, 1, -1],
        [-1, -1, 1],
      ]),
      10 / Math.sqrt(8),
    ),
    volume: 1000 / (6 * Math.SQRT2),
    area: 100 * Math.sqrt(3),
    source: 'a³/(6√2), a²√3',
  },
  {
    name: 'regular octahedron, edge 10',
    mesh: scaled(
      convexBody(
        signs.flatMap((s): Vec3[] => [
          [s, 0, 0],
          [0, s, 0],
          [0, 0, s],
        ]),
      ),
      10 / Math.SQRT2,
    ),
    volume: (1000 * Math.SQRT2) / 3,
    area: 200 * Math.sqrt(3),
    source: 'a³√2/3, 2a²√3',
  },
  {
    name: 'regular icosahedron, edge 10',
    mesh: scaled(
      convexBody(
        signs.flatMap((s) =>
          signs.flatMap((t): Vec3[] => [
            [0, s, t * PHI],
            [s, t * PHI, 0],
            [t * PHI, 0, s],
          ]),
        ),
      ),
      5,
    ),
    volume: (5000 * (3 + Math.sqrt(5))) / 12,
    area: 500 * Math.sqrt(3),
    source: '5a³(3 + √5)/12, 5a²√3',
  },
  {
    name: 'regular dodecahedron, edge 10',
    mesh: scaled(
      convexBody([
        ...signs.flatMap((s) => signs.flatMap((t) => signs.map((u): Vec3 => [s, t, u]))),
        ...signs.flatMap((s) =>
          signs.flatMap((t): Vec3[] => [
            [0, s / PHI, t * PHI],
            [s / PHI, t * PHI, 0],
            [t * PHI, 0, s / PHI],
          ]),
        ),
      ]),
      5 * PHI,
    ),
    volume: (1000 * (15 + 7 * Math.sqrt(5))) / 4,
    area: 300 * Math.sqrt(25 + 10 * Math.sqrt(5)),
    source: 'a³(15 + 7√5)/4, 3a²√(25 + 10√5)',
  },
  {
    name: 'square pyramid 10, height 12',
    mesh: convexBody([
      [0, 0, 0],
      [10, 0, 0],
      [10, 10, 0],
      [0, 10, 0],
      [5, 5, 12],
    ]),
    volume: 400,
    area: 360,
    source: 'a²h/3, a² + 2a·13',
  },
  {
    name: '3-4-5 prism, length 10',
    mesh: convexBody([
      [0, 0, 0],
      [3, 0, 0],
      [0, 4, 0],
      [0, 0, 10],
      [3, 0, 10],
      [0, 4, 10],
    ]),
    volume: 60,
    area: 132,
    source: '6·10, 12 + 12·10',
  },
];

describe('closed forms', () => {
  for (const { name, mesh, volume, area, source } of SOLIDS) {
    test(`${name}: ${source}`, () => {
      const mass = massProperties(mesh);
      within(mass.volumeMm3, volume, 1e-13 * volume, 'volume');
      within(mass.areaMm2, area, 1e-13 * area, 'area');
      expect(topology(mesh)).toMatchObject({ closed: true, euler: 2, components: 1, orientationConsistent: true });
    });
  }

  test('a box of 6 g resists turning as m/12·(b² + c²): 650, 500, 250', () => {
    const { inertiaMm5, centreMm } = massProperties(boxOf(10, 20, 30));
    expect(centreMm).toEqual([5, 10, 15]);
    // 1 g/cm³ is 1/1000 g/mm³
    const expected = [650, 500, 250, 0, 0, 0];
    expected.forEach((value, i) => {
      within(inertiaMm5![i]! / 1000, value, 1e-10, `entry ${i}`);
    });
  });

  test('a turned box has the products of inertia of the turned tensor', () => {
    // About z by 30°: Ixy = (Ixx − Iyy)·sin·cos with the sign of the tensor (xy = −∫xy), for 650 and 500.
    const turned = massProperties(
      transformMesh(boxOf(10, 20, 30), [
        Math.cos(Math.PI / 6),
        -0.5,
        0,
        7,
        0.5,
        Math.cos(Math.PI / 6),
        0,
        -3,
        0,
        0,
        1,
        2,
      ]),
    );
    const [xx, yy, zz, xy, yz, zx] = turned.inertiaMm5!.map((value) => value / 1000) as [
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    within(xx, 650 * 0.75 + 500 * 0.25, 1e-9, 'xx');
    within(yy, 650 * 0.25 + 500 * 0.75, 1e-9, 'yy');
    within(zz, 250, 1e-9, 'zz');
    within(xy, (650 - 500) * 0.5 * Math.cos(Math.PI / 6), 1e-9, 'xy');
    within(Math.max(Math.abs(yz), Math.abs(zx)), 0, 1e-9, 'yz and zx');
  });

  test('an n-gon column is n/(2π)·sin(2π/n) of the true cylinder', () => {
    for (const [n, share] of [
      [16, 0.974495],
      [32, 0.993587],
      [64, 0.998394],
      [128, 0.999598],
    ] as const) {
      const { volumeMm3 } = massProperties(ngonColumn(n, 5, 20));
      within(volumeMm3 / (Math.PI * 25 * 20), share, 5e-7, `${n}-gon`); // printed to six digits
      within(volumeMm3, 10 * n * 25 * Math.sin((2 * Math.PI) / n), 1e-9, `${n}-gon exactly`);
    }
  });

  test('a hollow body weighs the difference of the two and keeps two shells', () => {
    const outer = boxOf(20, 20, 20);
    const inner = transformMesh(boxOf(10, 10, 10), [1, 0, 0, 5, 0, 1, 0, 5, 0, 0, 1, 5]);
    const hollow = mergeMeshes([outer, turnInsideOut(inner)]);
    expect(massProperties(hollow).volumeMm3).toBeCloseTo(7000, 9);
    expect(topology(hollow)).toMatchObject({ components: 2, euler: 4, closed: true, volumeDefined: true });
  });

  test('far from the origin a small box keeps its figures', () => {
    const far = transformMesh(boxOf(2, 2, 2), [1, 0, 0, 4096, 0, 1, 0, -8192, 0, 0, 1, 1024]);
    const mass = massProperties(far);
    expect(mass.volumeMm3).toBeCloseTo(8, 12);
    mass.inertiaMm5!.slice(0, 3).forEach((value) => {
      within(value, (8 / 12) * 8, 1e-12, 'tensor');
    });
    expect(boundingBox(far)).toEqual({ min: [4096, -8192, 1024], max: [4098, -8190, 1026] });
  });

  test('a sheet without thickness has no centre', () => {
    const sheet = {
      positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0),
      triangles: Uint32Array.of(0, 1, 2, 0, 2, 1),
      originMm: [0, 0, 0] as const,
    };
    const mass = massProperties(sheet);
    expect(mass).toMatchObject({ volumeMm3: 0, areaMm2: 1 });
    expect(mass.centreMm).toBeUndefined();
  });
});

function scaled(mesh: Mesh, s: number): Mesh {
  return transformMesh(mesh, [s, 0, 0, 0, 0, s, 0, 0, 0, 0, s, 0]);
}
