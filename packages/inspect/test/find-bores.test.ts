import { existsSync, readFileSync } from 'node:fs';
import { affineOf, rotationOfTurns } from '@stonehand/base';
import { type Bore, type BoreOptions, findBores } from '@stonehand/inspect';
import { bytesSource, massProperties, readMesh, transformMesh } from '@stonehand/mesh';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { box, column, cup, lathe, tube } from './solids.ts';

const DATA = '../shared/data/meshes';

describe('bores and bosses', () => {
  test('of a tube: inside a bore, outside a boss, corners and flats as a regular polygon has them (flats = corners · cos π/n)', () => {
    const [bore, boss, ...rest] = findBores(tube(4, 10, 25, 48));
    expect(rest).toEqual([]);
    expect(bore).toMatchObject({ kind: 'bore', outline: 'round', facets: 48, through: true });
    expect(boss).toMatchObject({ kind: 'boss', outline: 'round', facets: 48 });
    expect(boss!.through).toBeUndefined();
    expect(bore!.cornersMm).toBeCloseTo(8, 9);
    expect(bore!.flatsMm).toBeCloseTo(8 * Math.cos(Math.PI / 48), 9);
    expect(boss!.cornersMm).toBeCloseTo(20, 9);
    expect(bore!.depthMm).toBeCloseTo(25, 9);
    expect(bore!.axis).toEqual([0, 0, 1]);
    for (const [k, want] of [0, 0, 12.5].entries()) expect(bore!.atMm[k]).toBeCloseTo(want, 9);
  });

  test('keep diameter, depth, place and axis when the part is turned and moved, in single precision', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 359 }),
        fc.integer({ min: 0, max: 359 }),
        fc.integer({ min: 9, max: 200 }),
        fc.double({ min: 1, max: 60, noNaN: true }),
        (x, y, sides, r) => {
          const m = affineOf(rotationOfTurns([x, y, 40]), [30, -20, 110]);
          const mesh = transformMesh(tube(r, r + 4, 12, sides), m);
          const bore = findBores({ ...mesh, positions: Float32Array.from(mesh.positions) }).find(
            (b) => b.kind === 'bore',
          )!;
          // single precision at 200 mm is 1.5e-5
          expect(bore.cornersMm).toBeCloseTo(2 * r, 3);
          expect(bore.depthMm).toBeCloseTo(12, 2);
          const along = m[2]! * bore.axis[0] + m[6]! * bore.axis[1] + m[10]! * bore.axis[2];
          expect(Math.abs(along)).toBeCloseTo(1, 5);
          for (let k = 0; k < 3; k++) expect(bore.atMm[k]).toBeCloseTo(m[4 * k + 2]! * 6 + m[4 * k + 3]!, 2);
          expect(bore.through).toBe(true);
        },
      ),
      { seed: 51, numRuns: 60 },
    );
  });

  test('blind and stepped bores are measured one by one', () => {
    // A cup: a counterbore of r 8 from z 10 to 20, then a blind hole of r 3 from z 4; outside r 12. The floor closes at the axis.
    const cup = lathe(
      [
        [1e-3, 0],
        [12, 0],
        [12, 20],
        [8, 20],
        [8, 10],
        [3, 10],
        [3, 4],
        [1e-3, 4],
      ],
      36,
    );
    const found = findBores(cup, { leastMm: 1 });
    expect(found.map((b) => [b.kind, Math.round(b.cornersMm), Math.round(b.depthMm)])).toEqual([
      ['bore', 6, 6],
      ['bore', 16, 10],
      ['boss', 24, 20],
    ]);
  });

  test('a hole with a floor is blind, the same hole without is through', () => {
    const blind = cup(4, 9, 3, 20, 40);
    expect(massProperties(blind).volumeMm3).toBeCloseTo(20 * Math.sin(Math.PI / 20) * (81 * 20 - 16 * 17), 6); // n/2·r²·sin(2π/n)·h
    expect(findBores(blind).find((b) => b.kind === 'bore')).toMatchObject({ through: false, outline: 'round' });
    expect(findBores(tube(4, 9, 20, 40)).find((b) => b.kind === 'bore')).toMatchObject({ through: true });
  });

  test('a hexagon is a hexagon: M5 nut, 8 across flats (ISO 4032)', () => {
    const acrossCorners = 8 / Math.cos(Math.PI / 6);
    const [nut] = findBores(column(acrossCorners / 2, 4.7, 6));
    expect(nut).toMatchObject({ kind: 'boss', outline: 'hexagon', facets: 6 });
    expect(nut!.flatsMm).toBeCloseTo(8, 9);
  });

  test('boxes, wedges, quarter rounds and balls have none', () => {
    expect(findBores(box([10, 20, 30]))).toEqual([]);
    expect(findBores(column(10, 5, 5))).toEqual([]);
    const ball = lathe(
      Array.from(
        { length: 65 },
        (_, i) => [Math.max(1e-6, 20 * Math.sin((Math.PI * i) / 64)), -20 * Math.cos((Math.PI * i) / 64)] as const,
      ),
      128,
    );
    expect(findBores(ball)).toEqual([]);
    // A bar with half-round ends, a slot's counterpart: round only half the way about each centre.
    const half = (cx: number, from: number): [number, number][] =>
      Array.from({ length: 17 }, (_, i) => [
        cx + 5 * Math.cos(from + (Math.PI * i) / 16),
        5 * Math.sin(from + (Math.PI * i) / 16),
      ]);
    const outline = [...half(15, -Math.PI / 2), ...half(-15, Math.PI / 2)];
    const n = outline.length;
    const p = [0, 8].flatMap((z) => outline.flatMap(([x, y]) => [x, y, z]));
    const t: number[] = [];
    for (let k = 0; k < n; k++) {
      const m = (k + 1) % n;
      t.push(k, m, n + m, k, n + m, n + k);
      if (k > 1) t.push(0, k, k - 1, n, n + k - 1, n + k);
    }
    expect(findBores({ positions: Float64Array.from(p), triangles: Uint32Array.from(t), originMm: [0, 0, 0] })).toEqual(
      [],
    );
  });

  test('a cone is no bore', () => {
    expect(
      findBores(
        lathe(
          [
            [5, 0],
            [10, 0],
            [7, 20],
            [2, 20],
          ],
          64,
        ),
      ),
    ).toEqual([]);
  });
});

describe.skipIf(!existsSync(DATA))('reference meshes (skipped where ../shared/data/meshes is absent)', () => {
  const bores = async (name: string, options: BoreOptions = {}): Promise<readonly Bore[]> =>
    findBores((await readMesh(bytesSource(name, readFileSync(`${DATA}/${name}`)))).mesh, options);
  /** How many there are of each diameter across corners, to 1e-4 of the file's unit. */
  const census = (found: readonly Bore[]): Record<string, number> => {
    const out: Record<string, number> = {};
    for (const bore of found) {
      if (bore.kind !== 'bore' || bore.outline !== 'round') continue;
      const key = bore.cornersMm.toFixed(4);
      out[key] = (out[key] ?? 0) + 1;
    }
    return out;
  };

  test.each([
    'spot.obj',
    'analytic_tilted_rod.stl',
    'analytic_torus.stl',
    'analytic_icosphere.stl',
    'analytic_cone.stl',
  ])('%s has none', async (name) => {
    expect(await bores(name)).toEqual([]);
  });

  test('the CAD part in inches has its clearance holes of drill H (0.266 in) and counterbores of 7/16 in (drill sizes: ASME B94.11M, from memory)', async () => {
    const found = await bores('featuretype.ply', { leastMm: 0, roundnessMm: 5e-4 });
    expect(census(found)).toMatchObject({ '0.2660': 8, '0.4375': 8 });
    for (const bore of found.filter((b) => b.cornersMm < 0.27)) {
      expect(bore).toMatchObject({ kind: 'bore', through: true });
      expect(bore.depthMm).toBeCloseTo(0.75, 4);
      // a counterbore stands over each hole, on the same axis
      expect(
        found.some(
          (b) =>
            Math.abs(b.cornersMm - 0.4375) < 1e-4 &&
            Math.hypot(b.atMm[0] - bore.atMm[0], b.atMm[1] - bore.atMm[1]) < 1e-4,
        ),
      ).toBe(true);
    }
  });

  test('the tray in mm has holes of drills 43, 25 and 9 (0.0890, 0.1495, 0.1960 in) and 1/8 in, through its 3.175 mm', async () => {
    const found = await bores('tray_bottom_ascii.stl');
    const inches = new Set(Object.keys(census(found)).map((mm) => (Number(mm) / 25.4).toFixed(4)));
    for (const drill of ['0.0890', '0.1495', '0.1960', '0.1250']) expect(inches).toContain(drill);
    for (const bore of found) if (bore.kind === 'bore') expect(bore.depthMm).toBeCloseTo(3.175, 3);
  });

  test('the gear wheel has one bore of 12, and its teeth are no bosses', async () => {
    expect(await bores('gearwheel.bin.stl')).toMatchObject([
      { kind: 'bore', outline: 'round', facets: 48, through: true },
    ]);
  });
});
