import type { Mesh } from '@stonehand/model';
import { BEAD_KINDS, beadSpacingMm, insets, loadPolygons, type Rings, ringsAreaMm2, ringsOf } from '@stonehand/slice';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { block, turned } from './shapes.ts';
import { pathLength, pathsOf, recipeOf } from './volumes.ts';

const polygons = await loadPolygons();

describe('gyroid infill', () => {
  // Bare infill: nothing but the curves, cut to the outline.
  const bare = recipeOf({ perimeters: 0, roofLayers: 0, floorLayers: 0, infillPattern: 'gyroid', infillShare: 0.2 });
  const spacingMm = beadSpacingMm(bare.beadWidthMm, bare.layerMm);
  // 2.4537: length of the curves per area over all planes, in 1/period (gyroid.ts); only the period hangs on it, not what is compared.
  const periodMm = (2.4537 * spacingMm) / bare.infillShare;
  const field = (x: number, y: number, z: number): number => {
    const [a, b, c] = [x, y, z].map((v) => (v * 2 * Math.PI) / periodMm);
    return Math.sin(a) * Math.cos(b) + Math.sin(b) * Math.cos(c) + Math.sin(c) * Math.cos(a);
  };
  const tube: Mesh = turned(
    [
      [6, 0],
      [15, 0],
      [15, 4],
      [6, 4],
    ],
    96,
  );
  test.each<[string, Mesh, (x: number, y: number) => boolean]>([
    ['a block', block(30, 20, 4, 1, 2), (x, y) => x > 1 && x < 31 && y > 2 && y < 22],
    ['a tube', tube, (x, y) => insidePolygon(15, x, y) && !insidePolygon(6, x, y)],
  ])('lies on the surface, inside the outline, and misses nothing of it: %s', (_, mesh, inside) => {
    const paths = pathsOf(mesh, bare, polygons);
    let found = 0;
    let marched = 0;
    for (let i = 0; i < paths.topMm.length; i += 3) {
      const z = paths.topMm[i] - bare.layerMm / 2;
      for (let p = paths.layerStart[i]; p < paths.layerStart[i + 1]; p++) {
        if (BEAD_KINDS[paths.kind[p]] !== 'infill') continue;
        found += pathLength(paths, p);
        for (let v = paths.pathStart[p]; v < paths.pathStart[p + 1]; v++) {
          const [x, y] = [paths.xyMm[2 * v], paths.xyMm[2 * v + 1]];
          // Ends lie on chords of twenty steps a period, at most 1.5 % of it off the curve; the field's slope is at most 2·2π a period.
          expect(Math.abs(field(x, y, z))).toBeLessThan(0.2);
        }
        for (let v = paths.pathStart[p] + 1; v < paths.pathStart[p + 1]; v++) {
          const [x, y] = [0, 1].map((k) => (paths.xyMm[2 * v + k] + paths.xyMm[2 * v - 2 + k]) / 2);
          if (pathLength(paths, p) > 0.05) expect(inside(x, y), `${x}, ${y} is outside`).toBe(true);
        }
      }
      marched += marchedLength((x, y) => field(x, y, z), inside);
    }
    expect(found).toBeGreaterThan(100);
    // Squares of 0.1 mm and chords of a twentieth of a period both cut corners, by less than 1 % each.
    expect(Math.abs(found / marched - 1)).toBeLessThan(0.02);
  });

  function insidePolygon(radius: number, x: number, y: number): boolean {
    const sector = (2 * Math.PI) / 96;
    const turn = Math.atan2(y, x);
    const middle = (Math.floor(turn / sector) + 0.5) * sector;
    return Math.hypot(x, y) * Math.cos(turn - middle) < radius * Math.cos(sector / 2);
  }

  /** Length of the zero line by marching squares, in squares whose middle is inside. */
  function marchedLength(at: (x: number, y: number) => number, inside: (x: number, y: number) => boolean): number {
    const h = 0.1;
    let sum = 0;
    for (let x = -16; x < 32; x += h) {
      for (let y = -16; y < 32; y += h) {
        if (!inside(x + h / 2, y + h / 2)) continue;
        const corners = [
          [x, y],
          [x + h, y],
          [x + h, y + h],
          [x, y + h],
        ].map(([u, v]) => [u, v, at(u, v)]);
        const crossings: [number, number][] = [];
        corners.forEach(([u, v, f], k) => {
          const [u1, v1, f1] = corners[(k + 1) % 4];
          if (f > 0 !== f1 > 0) crossings.push([u + (f / (f - f1)) * (u1 - u), v + (f / (f - f1)) * (v1 - v)]);
        });
        if (crossings.length === 2)
          sum += Math.hypot(crossings[0][0] - crossings[1][0], crossings[0][1] - crossings[1][1]);
      }
    }
    return sum;
  }
});

describe('insets of a region', () => {
  const depths = [0.2, 0.6, 1.0];

  test('a ring of 10 mm inside and 20 mm outside, cut at every degree', () => {
    const areas = insets(ringOf(20, 10, 360), depths, polygons).map(ringsAreaMm2);
    // Edges move by the depth, so the polygon's inner radius does too.
    const polygonArea = (radius: number): number => 360 * Math.tan(Math.PI / 360) * radius * radius;
    const apothem = Math.cos(Math.PI / 360);
    depths.forEach((depth, k) => {
      expect(areas[k]).toBeCloseTo(polygonArea(20 * apothem - depth) - polygonArea(10 * apothem + depth), 5);
    });
  });

  test('any ring between two stars is what the clipper makes of it, within 2e-5', () => {
    // Turns stay below 120°: sharper ones are bevelled here and squared off by the clipper.
    const radii = (min: number, max: number, corners: number): fc.Arbitrary<number[]> =>
      fc.array(fc.double({ min, max, noNaN: true }), { minLength: 8, maxLength: corners });
    const deep = [0.5, 1.2, 1.9];
    fc.assert(
      fc.property(radii(10, 12, 40), radii(5, 6.5, 20), (outer, inner) => {
        const region = polygons.subtract(starOf(outer, 0), starOf(inner, 0));
        insets(region, deep, polygons).forEach((found, k) => {
          const clipped = ringsAreaMm2(polygons.clippedOffset(region, -deep[k]));
          expect(Math.abs(ringsAreaMm2(found) - clipped)).toBeLessThanOrEqual(2e-5 * Math.max(1, clipped));
        });
        polygons.free();
      }),
      { seed: 5, numRuns: 150 },
    );
  });

  test('nothing stays nothing', () => {
    expect(insets(ringsOf([]), depths, polygons).map(ringsAreaMm2)).toEqual([0, 0, 0]);
  });
});

describe('rings from the clipper', () => {
  test('are the same through its handles as from its memory', async () => {
    const byHandles = await loadPolygons({ readHandles: true });
    const a = ringOf(20, 10, 90);
    const b = starOf([4, 15, 4, 15, 4, 15], 8);
    for (const how of [polygons, byHandles]) how.free();
    for (const operation of ['intersect', 'subtract', 'union'] as const) {
      const [expected, found] = [polygons, byHandles].map((how) => how[operation](a, b));
      expect(ringsAreaMm2(expected)).toBeGreaterThan(10);
      expect(found).toEqual(expected);
    }
    expect(byHandles.clippedOffset(a, -6).xyMm.length).toBe(0);
    expect(byHandles.triangulate(a)).toEqual(polygons.triangulate(a));
  });
});

function ringOf(outer: number, inner: number, corners: number): Rings {
  const circle = (radius: number, way: number): [number, number][] =>
    Array.from({ length: corners }, (_, k) => {
      const turn = (way * 2 * Math.PI * k) / corners;
      return [radius * Math.cos(turn), radius * Math.sin(turn)];
    });
  return ringsOf([circle(outer, 1), circle(inner, -1)]);
}

function starOf(radii: readonly number[], x: number): Rings {
  return ringsOf([
    radii.map((radius, k): [number, number] => {
      const turn = (2 * Math.PI * k) / radii.length;
      return [x + radius * Math.cos(turn), radius * Math.sin(turn)];
    }),
  ]);
}
