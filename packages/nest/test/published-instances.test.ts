import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Placed, Ring } from '@stonehand/model';
import { type NestPlace, type NestProblem, packBins, packStrip, shapeOf } from '@stonehand/nest';
import { describe, expect, test } from 'vitest';
import { rectangle } from '../../../tests/arbitraries/printers.ts';
import { plateFaults } from '../../../tests/oracles/polygon-overlap.ts';

const DATA = join(import.meta.dirname, '../../../../shared/data/nesting');
const isThere = existsSync(DATA);

type Instance = Readonly<{
  strip?: { height: number };
  bin?: { width: number; height: number };
  totals: { area: number };
  best: { length?: number; bins?: number };
  items: readonly { id: number; quantity: number; rotationsDeg: number[]; polygon?: Ring; size?: [number, number] }[];
}>;

function load(name: string): Instance & { problem: NestProblem; outlines: readonly Ring[] } {
  const instance = JSON.parse(readFileSync(join(DATA, `${name}.json`), 'utf8')) as Instance;
  const rings = instance.items.map((item) => item.polygon ?? rectangle(0, 0, item.size![0], item.size![1]));
  const items = instance.items.flatMap((item, k) => Array.from({ length: item.quantity }, () => k));
  const problem = {
    shapes: rings.map((ring) => shapeOf([ring])),
    turnsDeg: instance.items.map((item) => item.rotationsDeg),
    items,
  };
  return { ...instance, problem, outlines: items.map((k) => rings[k]!) };
}

function faultsOf(outlines: readonly Ring[], places: readonly NestPlace[], usable: Ring, sizeMm: number): string[] {
  // Published coordinates and ours are rounded at about 1e-9 of the size; overlap of that order is touching.
  const slack = 1e-7 * sizeMm;
  const named = outlines.map((ring, k) => ({ copyId: String(k), footprint: [counterClockwise(ring)], brimMm: 0 }));
  const placed: Placed[] = places.map((p) => ({ copyId: String(p.item), xMm: p.xMm, yMm: p.yMm, turnDeg: p.turnDeg }));
  return plateFaults(named, placed, { usable, keepOut: [] }, 0, slack);
}

function counterClockwise(ring: Ring): Ring {
  const open = ring[0]![0] === ring.at(-1)![0] && ring[0]![1] === ring.at(-1)![1] ? ring.slice(0, -1) : ring;
  const twice = open.reduce((sum, [x, y], i) => {
    const [nx, ny] = open[(i + 1) % open.length]!;
    return sum + x * ny - y * nx;
  }, 0);
  return twice > 0 ? open : [...open].reverse();
}

describe.skipIf(!isThere)('published instances (skipped where ../shared/data/nesting is absent)', () => {
  test.each(['strip-albano', 'strip-jakobs1', 'strip-shapes0', 'rect-C1_1'])(
    '%s: the layout is sound, longer than the bound, and within a sixth of the best known length',
    (name) => {
      const { problem, outlines, strip, best } = load(name);
      const { lengthMm, places, search } = packStrip(problem, strip!.height, { rounds: 700 });
      expect(faultsOf(outlines, places, rectangle(0, 0, lengthMm, strip!.height), strip!.height)).toEqual([]);
      expect(places).toHaveLength(problem.items.length);
      expect(lengthMm).toBeGreaterThanOrEqual(search.bound! * (1 - 1e-9));
      expect(lengthMm).toBeLessThanOrEqual(best.length! * (7 / 6));
    },
  );

  test.each(['bins-TA001', 'rect-Class_07-2bp_60_5'])('%s: sound bins, at most two above the optimum', (name) => {
    const { problem, outlines, bin, best } = load(name);
    const result = packBins(problem, bin!.width, bin!.height, { rounds: 300 });
    for (let b = 0; b < result.bins; b++) {
      const on = result.places.filter((place) => place.bin === b);
      expect(on.length).toBeGreaterThan(0);
      expect(faultsOf(outlines, on, rectangle(0, 0, bin!.width, bin!.height), bin!.width)).toEqual([]);
    }
    expect(result.places).toHaveLength(problem.items.length);
    expect(result.bins).toBeGreaterThanOrEqual(result.search.bound!);
    expect(result.bins).toBeLessThanOrEqual(best.bins! + 2);
  });
});

describe('bounds known by construction', () => {
  test('pieces wider than half a bin both ways need a bin each, and that is proven', () => {
    const tile = shapeOf([rectangle(0, 0, 60, 55)]);
    const problem = { shapes: [tile], turnsDeg: [[0, 90]], items: [0, 0, 0, 0] };
    const { bins, search } = packBins(problem, 100, 100, { rounds: 10 });
    expect([bins, search.bound, search.ended]).toEqual([4, 4, 'proven']);
  });

  test('a strip is never shorter than its area and its longest piece allow', () => {
    const bar = shapeOf([rectangle(0, 0, 90, 10)]);
    const { lengthMm, search } = packStrip({ shapes: [bar], turnsDeg: [[0]], items: [0, 0] }, 40, { rounds: 20 });
    expect(search.bound).toBe(90);
    expect(lengthMm).toBeCloseTo(90, 2);
  });
});
