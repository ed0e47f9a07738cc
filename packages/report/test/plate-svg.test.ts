import type { Piece, Plate } from '@stonehand/model';
import { cividis, filamentSvg, layerSvg, massSvg, planNames, plateSvg, timelineSvg } from '@stonehand/report';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';
import { rectangle } from './shapes.ts';

const printer = WEEKEND.printers[0]!; // 220 × 220
const base = WEEKEND.pieces[0]!;
const plateWith = (w: number, d: number, x: number, y: number, turnDeg: number): { plate: Plate; piece: Piece } => ({
  plate: {
    ...WEEKEND.plates[0]!,
    printerId: printer.id,
    placed: [{ copyId: `${base.id}#1`, xMm: x, yMm: y, turnDeg }],
  },
  piece: { ...base, footprint: rectangle(w, d) },
});

/** Points of the paths that carry a filled outline, back in plate coordinates (y up). */
function outline(svg: string): [number, number][] {
  const d = /<path d="M([^"]*)Z" fill="[^"]*" fill-opacity/.exec(svg)![1]!;
  return d.split('L').map((pair) => {
    const [x, y] = pair.split(',').map(Number);
    return [x!, 220 - y!];
  });
}

describe('a plate drawing', () => {
  test('is in millimetres from the front left corner, y to the back', () => {
    const { plate, piece } = plateWith(40, 20, 30, 50, 0);
    const { svg } = plateSvg({ plate, printer, piece: () => piece, name: () => 'x' });
    expect(outline(svg)).toEqual([
      [30, 50],
      [70, 50],
      [70, 70],
      [30, 70],
    ]);
  });

  test('turns counter-clockwise about the piece’s own origin, then moves', () => {
    const { plate, piece } = plateWith(40, 20, 100, 60, 90);
    const { svg } = plateSvg({ plate, printer, piece: () => piece, name: () => 'x' });
    expect(outline(svg)).toEqual([
      [100, 60],
      [100, 100],
      [80, 100],
      [80, 60],
    ]);
  });

  test('draws a rectangle at any angle with the area and place it has', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 359 }), (turnDeg) => {
        const { plate, piece } = plateWith(60, 30, 110, 110, turnDeg);
        const points = outline(plateSvg({ plate, printer, piece: () => piece, name: () => 'x' }).svg);
        const area = points.reduce((s, [x, y], i) => {
          const [u, v] = points[(i + 1) % points.length]!;
          return s + (x * v - u * y) / 2;
        }, 0);
        // Coordinates are rounded to 0.05: an error of at most half the outline's length times that.
        expect(Math.abs(area - 1800)).toBeLessThan(90 * 0.05 * 2);
      }),
      { seed: 5, numRuns: 60 },
    );
  });

  test('gives a number and a key where the name has no room', () => {
    const { plate, piece } = plateWith(14, 14, 30, 50, 0);
    const drawing = plateSvg({ plate, printer, piece: () => piece, name: () => 'tendon guide' });
    expect(drawing.key).toEqual([{ number: 1, name: 'tendon guide' }]);
    const large = plateWith(140, 60, 30, 50, 0);
    expect(plateSvg({ plate: large.plate, printer, piece: () => large.piece, name: () => 'tendon guide' }).key).toEqual(
      [],
    );
  });

  test('has a ruler to the end of the plate', () => {
    const { plate, piece } = plateWith(40, 20, 30, 50, 0);
    const { svg } = plateSvg({ plate, printer, piece: () => piece, name: () => 'x' });
    for (const mm of [50, 100, 150, 200]) expect(svg.match(new RegExp(`>${mm}<`, 'g'))).toHaveLength(2);
  });
});

describe('the timeline', () => {
  const names = planNames(WEEKEND);
  const level = timelineSvg(WEEKEND);

  test('draws bars as long as the runs, to one scale', () => {
    const bars = [
      ...level.matchAll(/<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="28" fill="var\(--card/g),
    ].map((m) => Number(m[2]));
    expect(bars).toHaveLength(WEEKEND.runs.length);
    const hours = WEEKEND.printers.flatMap((p) =>
      WEEKEND.runs
        .filter((r) => r.printerId === p.id)
        .sort((a, b) => Date.parse(a.start) - Date.parse(b.start))
        .map((r) => (Date.parse(r.end) - Date.parse(r.start)) / 3.6e6),
    );
    const pxPerHour = bars.map((px, i) => px / hours[i]!);
    // Rounded to 0.05 px on bars of at least 2.8 h × 17 px.
    for (const scale of pxPerHour) expect(scale).toBeCloseTo(pxPerHour[0]!, 1);
  });

  test('names every plate in its titles, level and upright', () => {
    for (const run of WEEKEND.runs) {
      expect(level).toContain(names.plate(run.plateId)!.name);
      expect(timelineSvg(WEEKEND, { upright: true })).toContain(names.plate(run.plateId)!.name);
    }
  });

  test('shows a day of 25 hours with 25 hours (end of summer time, Vienna, 25 October 2026)', () => {
    const shift = Date.parse('2026-10-24T18:00:00+02:00') - Date.parse(WEEKEND.planFrom);
    const moved = (t: string): string => new Date(Date.parse(t) + shift).toISOString();
    const runs = WEEKEND.runs.map((r) => ({
      ...r,
      attendFrom: moved(r.attendFrom),
      start: moved(r.start),
      end: moved(r.end),
      unloadFrom: moved(r.unloadFrom),
      unloadEnd: moved(r.unloadEnd),
      watchedUntil: moved(r.watchedUntil),
    }));
    const svg = timelineSvg({
      ...WEEKEND,
      planFrom: moved(WEEKEND.planFrom),
      planTo: moved(WEEKEND.planTo!),
      runs,
      presence: [],
      todo: [],
      deadline: moved(WEEKEND.deadline!),
    });
    const midnights = [...svg.matchAll(/<line x1="([\d.]+)" y1="6"/g)].map((m) => Number(m[1]));
    const marks = [...svg.matchAll(/<text x="([\d.]+)" y="30" font-size="10" text-anchor="middle"[^>]*>(\d+)</g)].map(
      (m) => [Number(m[1]), Number(m[2])] as const,
    );
    const pxPerHour = (midnights[1]! - midnights[0]!) / 25;
    const sunday6 = marks.find(([x, h]) => h === 6 && x > midnights[0]! && x < midnights[1]!)!;
    expect((sunday6[0] - midnights[0]!) / pxPerHour).toBeCloseTo(7, 1);
  });
});

test('bars of mass and filament are proportional to grams', () => {
  const svg = massSvg(WEEKEND.mass);
  const printed = [...svg.matchAll(/<rect x="150" y="[\d.]+" width="([\d.]+)" height="24"/g)].map((m) => Number(m[1]));
  const grams = [2520, 742, 318, 1105, 355];
  printed.forEach((px, i) => {
    expect(px / printed[0]!).toBeCloseTo(grams[i]! / grams[0]!, 3);
  });
  const bars = [...filamentSvg(WEEKEND).matchAll(/width="([\d.]+)" height="15"/g)].map((m) => Number(m[1]));
  expect(bars).toHaveLength(8);
  expect(bars[1]! / bars[0]!).toBeCloseTo(1420 / 673, 2);
});

describe('the layers of a piece', () => {
  /** Columns of all shades from left to right. */
  const heights = (svg: string): number[] =>
    [...svg.matchAll(/M([\d.]+) [\d.]+v-([\d.]+)h/g)]
      .map(([, x, height]) => [Number(x), Number(height)] as const)
      .sort((a, b) => a[0] - b[0])
      .map(([, height]) => height);

  test('are columns proportional to seconds, coloured by grams from dark to bright', () => {
    const svg = layerSvg({
      estimate: { layerS: [10, 20, 40], layerG: [0.1, 0.2, 1] },
      recipe: { leastLayerS: 8 },
      widthPx: 200,
      heightPx: 54,
    });
    const [a, b, c] = heights(svg);
    expect(c).toBeCloseTo(40, 1);
    expect(b! / c!).toBeCloseTo(0.5, 2);
    expect(a! / c!).toBeCloseTo(0.25, 2);
    expect(svg).toContain(`rgb(${cividis(1).join(',')})`);
    expect(svg).toContain('stroke-dasharray');
  });

  test('share columns when there are many, and keep their sum', () => {
    const layerS = Array.from({ length: 1000 }, (_, i) => 5 + (i % 50));
    const svg = layerSvg({ estimate: { layerS, layerG: layerS }, widthPx: 200, heightPx: 112 });
    const columns = heights(svg);
    expect(columns).toHaveLength(100);
    // columns of ten layers each, scaled by the largest column: mean height over largest = mean seconds over largest group
    const groups = Array.from(
      { length: 100 },
      (_, i) => layerS.slice(10 * i, 10 * i + 10).reduce((s, v) => s + v, 0) / 10,
    );
    const mean = (v: readonly number[]): number => v.reduce((s, x) => s + x, 0) / v.length;
    expect(mean(columns) / Math.max(...columns)).toBeCloseTo(mean(groups) / Math.max(...groups), 2);
  });

  test('of nothing draw nothing', () => {
    expect(layerSvg({ estimate: { layerS: [], layerG: [] } })).toBe('');
  });
});
