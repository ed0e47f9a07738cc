import type { LayerPaths, Mesh } from '@stonehand/model';
import { layersToShow, packLayers, packShape, unpackLayers, unpackShape } from '@stonehand/view';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

/** A wavy tube, round about and along: curved both ways, closed. */
function tube(around: number, along: number): Mesh {
  const positions = new Float64Array(3 * (around * along + 2));
  for (let k = 0; k < along; k++)
    for (let i = 0; i < around; i++) {
      const angle = (2 * Math.PI * i) / around;
      const radius = 20 + 4 * Math.sin((6 * k) / along);
      positions.set([radius * Math.cos(angle), radius * Math.sin(angle), (80 * k) / (along - 1)], 3 * (k * around + i));
    }
  const bottom = around * along;
  positions.set([0, 0, 0], 3 * bottom);
  positions.set([0, 0, 80], 3 * (bottom + 1));
  const triangles: number[] = [];
  for (let i = 0; i < around; i++) {
    const j = (i + 1) % around;
    for (let k = 0; k + 1 < along; k++) {
      const [a, b, c, d] = [k * around + i, k * around + j, (k + 1) * around + i, (k + 1) * around + j];
      triangles.push(a, b, d, a, d, c);
    }
    triangles.push(bottom, j, i, bottom + 1, (along - 1) * around + i, (along - 1) * around + j);
  }
  return { positions, triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

function volumeMm3(positions: ArrayLike<number>, triangles: ArrayLike<number>): number {
  let sum = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
    const p = (v: number, k: number): number => positions[v + k]!;
    sum +=
      p(a, 0) * (p(b, 1) * p(c, 2) - p(b, 2) * p(c, 1)) -
      p(a, 1) * (p(b, 0) * p(c, 2) - p(b, 2) * p(c, 0)) +
      p(a, 2) * (p(b, 0) * p(c, 1) - p(b, 1) * p(c, 0));
  }
  return sum / 6;
}

describe('shapes for the page', () => {
  test('come back with every vertex within a step of its grid when nothing is thinned', async () => {
    const mesh = tube(24, 10);
    const { positions, triangles } = unpackShape(await packShape(mesh, { toleranceMm: 0 }));
    // Same triangles in the same order, each with its corners in the same order, perhaps starting at another one.
    expect(triangles.length).toBe(mesh.triangles.length);
    const stepMm = 80 / 65_535;
    const volume = volumeMm3(mesh.positions, mesh.triangles);
    expect(Math.abs(volumeMm3(positions, triangles) / volume - 1)).toBeLessThan(1e-4);
    for (let v = 0; v < positions.length; v += 3) {
      let nearest = Infinity;
      for (let w = 0; w < mesh.positions.length; w += 3)
        nearest = Math.min(
          nearest,
          Math.max(
            Math.abs(positions[v]! - mesh.positions[w]!),
            Math.abs(positions[v + 1]! - mesh.positions[w + 1]!),
            Math.abs(positions[v + 2]! - mesh.positions[w + 2]!),
          ),
        );
      expect(nearest).toBeLessThanOrEqual(stepMm);
    }
  });

  test('are thinned within their tolerance, and to a stated number of triangles', async () => {
    const mesh = tube(200, 150);
    const all = mesh.triangles.length / 3;
    const fine = unpackShape(await packShape(mesh));
    expect(fine.triangles.length / 3).toBeLessThan(all / 2);
    const volume = volumeMm3(mesh.positions, mesh.triangles);
    const area = 2 * Math.PI * 24 * 80;
    expect(Math.abs(volumeMm3(fine.positions, fine.triangles) - volume)).toBeLessThan(2 * 0.05 * area);
    const coarse = unpackShape(await packShape(mesh, { mostTriangles: 1000 }));
    expect(coarse.triangles.length / 3).toBeLessThanOrEqual(1000);
    expect(Math.abs(volumeMm3(coarse.positions, coarse.triangles) / volume - 1)).toBeLessThan(0.02);
  });

  test('take about three bytes a triangle', async () => {
    const mesh = tube(200, 150);
    const packed = await packShape(mesh, { toleranceMm: 0 });
    expect(packed.length / (mesh.triangles.length / 3)).toBeLessThan(4);
  });
});

const path = fc.record({
  kind: fc.integer({ min: 0, max: 9 }),
  closed: fc.integer({ min: 0, max: 1 }),
  widthMm: fc.integer({ min: 0, max: 200 }).map((n) => n / 100),
  speed: fc.integer({ min: 0, max: 400 }),
  points: fc.array(
    fc.tuple(fc.double({ min: -300, max: 300, noNaN: true }), fc.double({ min: -300, max: 300, noNaN: true })),
    {
      minLength: 2,
      maxLength: 12,
    },
  ),
});

describe('layers for the page', () => {
  test('come back within half a step, whichever of them are kept', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(path, { maxLength: 6 }), { minLength: 1, maxLength: 8 }),
        fc.nat(),
        (stack, pick) => {
          const all = stack.flat();
          const starts = (sizes: readonly number[]): Uint32Array => {
            const out = new Uint32Array(sizes.length + 1);
            for (const [i, n] of sizes.entries()) out[i + 1] = out[i]! + n;
            return out;
          };
          const paths: LayerPaths = {
            bottomMm: 0,
            topMm: Float64Array.from(stack, (_, i) => 0.3 + 0.2 * i),
            layerStart: starts(stack.map((layer) => layer.length)),
            pathStart: starts(all.map(({ points }) => points.length)),
            kind: Uint8Array.from(all, ({ kind }) => kind),
            closed: Uint8Array.from(all, ({ closed }) => closed),
            xyMm: Float32Array.from(all.flatMap(({ points }) => points.flat())),
            widthMm: Float32Array.from(all, ({ widthMm }) => widthMm),
          };
          const layer = pick % stack.length;
          const [seen] = unpackLayers(
            packLayers(
              paths,
              Float32Array.from(all, ({ speed }) => speed),
              [layer],
            ),
          );
          const mine = stack[layer]!;
          expect(seen!.layer).toBe(layer);
          expect(seen!.topMm).toBeCloseTo(0.3 + 0.2 * layer, 6);
          expect(seen!.heightMm).toBeCloseTo(layer === 0 ? 0.3 : 0.2, 6);
          expect([...seen!.kind]).toEqual(mine.map(({ kind }) => kind));
          expect([...seen!.closed]).toEqual(mine.map(({ closed }) => closed));
          expect([...seen!.speedMmS]).toEqual(mine.map(({ speed }) => speed));
          const points = mine.flatMap((one) => one.points.flat());
          expect(seen!.xyMm.length).toBe(points.length);
          for (const [i, x] of points.entries()) expect(Math.abs(seen!.xyMm[i]! - x)).toBeLessThan(0.0101);
        },
      ),
      { numRuns: 100 },
    );
  });

  test('are spread evenly with first and last among them', () => {
    expect(layersToShow(5, 12)).toEqual([0, 1, 2, 3, 4]);
    expect(layersToShow(101, 5)).toEqual([0, 25, 50, 75, 100]);
  });
});
