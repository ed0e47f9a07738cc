import type { ByKind, Mesh, Printer, Ring } from '@stonehand/model';
import { candidatePoses, fitVerdict, type PosedHull, poseOf, shadowHull } from '@stonehand/orient';
import { expect, test } from 'vitest';
import { box, RECIPE, UPRIGHT } from './shapes.ts';

const none: ByKind = {
  outerPerimeter: 60,
  innerPerimeter: 60,
  solid: 60,
  bridge: 30,
  infill: 60,
  support: 60,
  contact: 30,
  brim: 60,
  purge: 60,
  travel: 150,
};

function printer(wide: number, deep: number, heightMm: number, keepOut: readonly Ring[] = []): Printer {
  const plate: Ring = [
    [0, 0],
    [wide, 0],
    [wide, deep],
    [0, deep],
  ];
  return {
    id: 'bench',
    plate,
    usable: plate,
    keepOut,
    plateSizeMm: [wide, deep],
    marginMm: 0,
    heightMm,
    nozzleMm: 0.4,
    nozzleMaxC: 260,
    plateMaxC: 100,
    has: [],
    speedMmS: none,
    accelMmS2: none,
    firstLayerMmS: 20,
    cornerSpeedMmS: 8,
    flowMm3S: 11,
    pullBackS: 0.5,
    layerChangeS: 1,
    warmUpS: 200,
    coolDownS: 300,
    changeS: 300,
    unattended: false,
    longestRunS: 72_000,
    failPerStart: 0.03,
    failPerHour: 0.005,
  };
}

function posed(mesh: Mesh): PosedHull[] {
  return candidatePoses(mesh, RECIPE, { rule: 'auto' }).map((pose) => ({ pose, hullXY: shadowHull(mesh, pose) }));
}

const verdictOf = (mesh: Mesh, on: Printer): ReturnType<typeof fitVerdict> =>
  fitVerdict('heron/plate', posed(mesh), on, RECIPE);

test('as is, turned, tipped or not at all', () => {
  const bed = printer(220, 220, 250);
  expect(verdictOf(box([0, 0, 0], [200, 100, 20]), bed).verdict).toBe('asIs');
  const rod = verdictOf(box([0, 0, 0], [280, 20, 20]), bed);
  expect(rod.verdict).toBe('turned');
  // (280·cos t + 20·sin t) ≤ 220: the least turn is where it is equal.
  const t = (Math.abs(rod.turnDeg!) * Math.PI) / 180;
  expect(280 * Math.cos(t) + 20 * Math.sin(t)).toBeCloseTo(220, 5);
  const panel = verdictOf(box([0, 0, 0], [240, 215, 60]), bed);
  expect(panel.verdict).toBe('tipped');
  const slab = verdictOf(box([0, 0, 0], [412, 268, 141]), bed);
  expect(slab.verdict).toBe('no');
});

test('what does not fit says by how much, and at what scale it would', () => {
  const block = box([0, 0, 0], [300, 300, 300]);
  const verdict = verdictOf(block, printer(220, 250, 200));
  expect(verdict).toMatchObject({ verdict: 'no', why: 'too large by 80 mm in x, 50 mm in y, 100 mm in z' });
  expect(verdict.overMm!.map((v) => Math.round(v * 1e6) / 1e6)).toEqual([80, 50, 100]);
  expect(verdict.scaleThatFits).toBeCloseTo(200 / 300, 9);
});

test('at the scale that is named it just fits, and at a thousandth more it does not', () => {
  const on = printer(220, 200, 120);
  const sizes = [230, 190, 150] as const;
  const { scaleThatFits } = verdictOf(box([0, 0, 0], sizes), on);
  const at = (s: number): string => verdictOf(box([0, 0, 0], [s * sizes[0], s * sizes[1], s * sizes[2]]), on).verdict;
  expect(at(scaleThatFits! * 0.9999)).not.toBe('no');
  expect(at(scaleThatFits! * 1.001)).toBe('no');
});

test('the brim counts', () => {
  const mesh = box([0, 0, 0], [215, 215, 10]);
  const pose = poseOf(mesh, UPRIGHT, RECIPE);
  const hulls = [{ pose, hullXY: shadowHull(mesh, pose) }];
  expect(fitVerdict('p', hulls, printer(220, 220, 250), { ...RECIPE, brimMm: 2.5 }).verdict).toBe('asIs');
  const brimmed = fitVerdict('p', hulls, printer(220, 220, 250), { ...RECIPE, brimMm: 5 });
  expect(brimmed.verdict).toBe('no');
  expect(brimmed.overMm![0]).toBeCloseTo(5, 9);
});

test('a kept-out corner is named as the reason', () => {
  const corner: Ring = [
    [0, 0],
    [30, 0],
    [30, 30],
    [0, 30],
  ];
  const mesh = box([0, 0, 0], [210, 210, 240]);
  const verdict = verdictOf(mesh, printer(220, 220, 250, [corner]));
  expect(verdict).toMatchObject({ verdict: 'no', why: 'a kept-out area of the plate is in the way' });
  expect(verdict.scaleThatFits).toBeUndefined();
});
