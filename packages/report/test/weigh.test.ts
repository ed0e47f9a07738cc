import { WebIO } from '@gltf-transform/core';
import type { MassReport } from '@stonehand/model';
import {
  assemblyGlb,
  balanceSvg,
  massTreeSvg,
  renderLimits,
  renderProposal,
  renderWeigh,
  savingsSvg,
  tradeOffSvg,
} from '@stonehand/report';
import { describe, expect, test } from 'vitest';
import { box } from './shapes.ts';

const row = (
  limit: string,
  unit: string,
  value: number,
  half: number,
  allowed: number,
  margin: number,
  chance: number,
): MassReport['limits'][number] => ({
  limit,
  unit,
  value: { value, low: value - half, high: value + half, level: 0.8, from: 'test' },
  allowed,
  margin,
  chance,
});

const HEAD: MassReport = {
  assemblyId: 'heron/head',
  name: 'Head',
  massG: { value: 400, low: 380, high: 420, level: 0.8, from: 'test' },
  centreMm: [20, 5, -10],
  inertiaGMm2: [1, 1, 1, 0, 0, 0],
  printedG: 300,
  boughtG: 90,
  extraG: 10,
  byExtraG: { paint: 7, wiring: 3 },
  weighedG: 40,
  byMaterialG: { pla: 300 },
  byPartG: { 'heron/head/skull': 200, 'heron/head/beak': 100 },
  children: [],
  bodies: [
    {
      kind: 'printed',
      id: 'heron/head/skull',
      massG: 200,
      centreMm: [0, 0, 0],
      place: [1, 0, 0, -50, 0, 1, 0, -40, 0, 0, 1, -30],
    },
    { kind: 'bought', id: 'cell', massG: 90, centreMm: [-30, 0, -20] },
  ],
  stated: {
    massG: 380,
    centreMm: { min: [-30, -3, null], max: [10, 3, null] },
    moments: [{ name: 'nod', atMm: [0, 0, -25], axis: [0, 1, 0], mostNmm: 60, swings: false }],
  },
  limits: [
    row('mass at most', 'g', 400, 20, 380, -20, 0.1),
    row('centre x at least', 'mm', 20, 2, -30, 50, 1),
    row('centre x at most', 'mm', 20, 2, 10, -10, 0),
    row('moment about nod at most', 'N·mm', 78.5, 5, 60, -18.5, 0),
    row('lean before it tips at least', '°', 9.2, 0.4, 8, 1.2, 0.99),
  ],
  missing: [],
};
const SHAPES = {
  'heron/head/skull': [0, 1, 2, 3, 4, 5, 6, 7].map((i) => [i & 1 ? 100 : 0, i & 2 ? 80 : 0, i & 4 ? 60 : 0] as const),
};

/** x, y, width, height of rectangles that carry a mark. */
function rects(svg: string, mark: RegExp): number[][] {
  return [...svg.matchAll(/<rect x="([-\d.]+)" y="([-\d.]+)" width="([-\d.]+)" height="([-\d.]+)"[^>]*>/g)]
    .filter(([text]) => mark.test(text))
    .map(([, ...numbers]) => numbers.map(Number));
}

describe('the centre in three views', () => {
  const svg = balanceSvg(HEAD, { shapes: SHAPES });

  test('one scale: the box of the centre is as wide in x from the side as from above, and as the skull is long in proportion', () => {
    const limits = rects(svg, /stroke-dasharray="4 3"/).slice(0, 3);
    const paths = [...svg.matchAll(/<path d="M([^"]+)Z" fill="var\(--c5/g)].map(([, d]) =>
      d!.split('L').map((p) => p.split(' ').map(Number)),
    );
    const width = (points: number[][]): number =>
      Math.max(...points.map(([x]) => x!)) - Math.min(...points.map(([x]) => x!));
    expect(paths).toHaveLength(3);
    expect(limits[0]![2]! / width(paths[0]!)).toBeCloseTo(40 / 100, 2);
    expect(limits[1]![2]! / width(paths[1]!)).toBeCloseTo(6 / 80, 2);
    expect(limits[2]![2]).toBeCloseTo(limits[0]![2]!, 0);
  });

  test('the mark stands where the centre is: to the right of the box by its excess', () => {
    const side = rects(svg, /stroke-dasharray="4 3"/)[0]!;
    const mark = /<circle cx="([\d.]+)" cy="([\d.]+)" r="7"/.exec(svg)!;
    const pxPerMm = side[2]! / 40;
    expect(Number(mark[1]) - (side[0]! + side[2]!)).toBeCloseTo(10 * pxPerMm, 0);
  });

  test('says in words what it shows, and names the axis', () => {
    expect(svg).toContain('centre of mass at 20, 5, −10 mm in three views');
    expect(svg).toContain('>nod<');
    expect(balanceSvg(HEAD, { shapes: SHAPES, units: 'US', widthPx: 368 })).toContain(' in<');
  });
});

test('the tree gives every gram its area', () => {
  const svg = massTreeSvg(HEAD);
  const cells = [...svg.matchAll(/height="([\d.]+)"[^>]*><title>([^,]+), ([^<]+)</g)].map(([, h, name, mass]) => ({
    h: Number(h) + 1,
    name: name!,
    mass: mass!,
  }));
  const whole = cells.find(({ name }) => name === 'Head')!.h;
  expect(cells.map(({ name }) => name)).toEqual(['Head', 'skull', 'beak', 'bought items', 'paint', 'wiring']);
  expect(cells.find(({ name }) => name === 'skull')!.h / whole).toBeCloseTo(200 / 400, 2);
  expect(cells.find(({ name }) => name === 'paint')!.h / whole).toBeCloseTo(7 / 400, 2);
});

describe('texts', () => {
  test('limits in the units that people use for them', () => {
    const said = renderLimits([HEAD], { width: 200 });
    expect(said).toContain(
      'Head, moment about nod 79 N·mm (74 to 84): allowed at most 60 N·mm, 19 N·mm beyond the limit',
    );
    expect(said).not.toContain('lean');
    expect(renderWeigh([HEAD], { width: 200 })).toContain(
      'lean before it tips 9.2° (8.8 to 9.6): allowed at least 8°, 1.2° to spare',
    );
    // 78.5 N·mm / (28.349523125 g · 9.80665 m/s² · 25.4 mm) = 11.1 oz·in.
    expect(renderLimits([HEAD], { width: 200, units: 'US' })).toContain('moment about nod 11.1 oz·in');
  });

  test('what else weighs, and what stood on the scale', () => {
    const text = renderWeigh([HEAD], { width: 120 });
    expect(text).toContain('more: paint 7.0 g, wiring 3.0 g');
    expect(text).toContain('40 g of 300 g printed stood on the scale');
    expect(renderWeigh([HEAD], { width: 120, units: 'US' })).toContain('14.1 oz (13.4 oz to 14.8 oz)');
  });

  const after = { ...HEAD, massG: { value: 370, from: 'test' }, limits: [] };
  const lightened = {
    before: HEAD,
    after,
    beforeS: 20 * 3600,
    afterS: 18 * 3600,
    changes: [
      {
        partId: 'heron/head/skull',
        name: 'skull',
        copies: 1,
        from: '0.2 mm, 3 perimeters, 15 % gyroid',
        to: '0.2 mm, 2 perimeters, 8 % gyroid',
        choiceId: 'a',
        savedG: 24,
        savedS: 5400,
        stiffness: 0.8,
      },
      {
        partId: 'heron/head/beak',
        name: 'beak',
        copies: 2,
        from: '0.2 mm, 3 perimeters',
        to: '0.28 mm, 3 perimeters',
        choiceId: 'b',
        savedG: 6,
        savedS: -1800,
        stiffness: 1,
      },
    ],
    holds: true,
    curve: [
      { massG: 360, durationS: 17 * 3600, stiffness: 0.7, chosen: false },
      { massG: 370, durationS: 18 * 3600, stiffness: 0.9, chosen: true },
    ],
    search: { cost: 1, gap: 0, ended: 'proven' as const, parts: 2, choices: 9 },
  };

  test('a proposal tells what changes, what it saves and costs, and how good it is', () => {
    const text = renderProposal(HEAD, { lightened }, { width: 110 });
    expect(text).toContain('Head, printed lighter: 30 g less, 2 h less printing; all limits hold.');
    expect(text).toMatch(
      /skull +2 perimeters, 8 % gyroid +24 g +−1½ +80 %|skull +2 perimeters, 8 % gyroid +24 g +−90 min +80 %/,
    );
    expect(text).toMatch(/beak, 2 copies +0\.28 mm +6\.0 g +\+30 min +100 %/);
    expect(text).toContain('9 ways of printing 2 parts compared, no choice of them costs less');
    expect(text).toContain('< proposed');
  });

  test('counterweights and moves in plain words', () => {
    const ballasted = [
      { addedG: 0, weights: [], moves: [{ itemId: 'cell', byMm: [-12, 0, 0] as const }], after, holds: true },
      {
        addedG: 13,
        weights: [{ place: 'nape', atMm: [-80, 0, 0] as const, massG: 13 }],
        moves: [],
        after,
        holds: false,
      },
    ];
    const text = renderProposal(HEAD, { ballasted }, { width: 200 });
    expect(text).toContain('move the cell by −12, 0, 0 mm: nothing added');
    expect(text).toContain('put 13 g nape (−80, 0, 0 mm): 13 g added');
    expect(text).toContain('the mass limit stays passed');
  });

  test('drawings of savings and of the curve carry a mark for each', () => {
    expect(savingsSvg(lightened).match(/<rect/g)).toHaveLength(2);
    const curve = tradeOffSvg(lightened);
    expect(curve.match(/<circle/g)).toHaveLength(3);
    expect(curve).toContain('>proposed<');
    expect(curve).toContain('>today<');
  });
});

test('the model has its parts in place, the ball at the centre in metres with y up, and the box of the centre', async () => {
  const meshes = new Map([['heron/head/skull', box(100, 80, 60)]]);
  const doc = await new WebIO().readBinary(await assemblyGlb({ report: HEAD, meshes }));
  const named = (name: string): ReturnType<ReturnType<typeof doc.getRoot>['listNodes']>[number] =>
    doc
      .getRoot()
      .listNodes()
      .find((node) => node.getName() === name)!;
  const world = (name: string): { min: number[]; max: number[] } => {
    const node = named(name);
    const m = node.getWorldMatrix();
    const positions = node.getMesh()!.listPrimitives()[0]!.getAttribute('POSITION')!;
    const [min, max] = [
      [1e9, 1e9, 1e9],
      [-1e9, -1e9, -1e9],
    ];
    for (let i = 0; i < positions.getCount(); i++) {
      const p = positions.getElement(i, []);
      for (let k = 0; k < 3; k++) {
        const v = m[k]! * p[0]! + m[4 + k]! * p[1]! + m[8 + k]! * p[2]! + m[12 + k]!;
        min[k] = Math.min(min[k]!, v);
        max[k] = Math.max(max[k]!, v);
      }
    }
    return { min, max };
  };
  const ball = world('centre of mass');
  // (x, y, z) mm → (x, z, −y) / 1000
  [0.02, -0.01, -0.005].forEach((v, k) => {
    expect((ball.min[k]! + ball.max[k]!) / 2).toBeCloseTo(v, 4);
  });
  const limit = world('where the centre may lie');
  expect([limit.min[0], limit.max[0]].map((v) => Number(v!.toFixed(4)))).toEqual([-0.03, 0.01]);
  const skull = world('heron/head/skull');
  expect(skull.max[0]! - skull.min[0]!).toBeCloseTo(0.1, 6);
  expect(skull.max[1]! - skull.min[1]!).toBeCloseTo(0.06, 6);
});
