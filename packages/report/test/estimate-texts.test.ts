import type { Estimate, HollowOffer, HollowPrint, Review, WhatIfRow } from '@stonehand/model';
import {
  renderForecast,
  renderHollow,
  renderPage,
  renderReview,
  renderSummary,
  renderTrial,
  renderWhatIf,
  savingSentence,
  textWidth,
} from '@stonehand/report';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';

const g = (value: number) => ({ value, low: 0.92 * value, high: 1.08 * value, from: 'test' });
const h = (hours: number) => ({
  value: 3600 * hours,
  low: 3600 * 0.85 * hours,
  high: 3600 * 1.3 * hours,
  from: 'test',
});
const fits = (text: string, width: number): boolean => text.split('\n').every((line) => textWidth(line) <= width);

const RECIPE = { layerMm: 0.2, perimeters: 2, infillShare: 0.15, bridgeMm: 10 };
const ROWS: readonly WhatIfRow[] = [0.2, 0.3].flatMap((layerMm) =>
  [1, 2].flatMap((perimeters) =>
    [0, 0.05, 0.15].map((infillShare) => ({
      layerMm,
      perimeters,
      infillShare,
      roofLayers: 4,
      floorLayers: 4,
      massG: g(20 * perimeters + 100 * infillShare + layerMm),
      durationS: h((perimeters + 4 * infillShare) / (5 * layerMm)),
      partG: 20,
      byKind: [],
      roofSpanMm: infillShare === 0 ? 22.5 : 4,
      roofAtMm: 18.6,
      roofsClose: infillShare > 0,
    })),
  ),
);

describe('other recipes', () => {
  const text = renderWhatIf(ROWS, RECIPE, { width: 80 });

  test('stand in a table a layer height, the recipe as it is in brackets, open roofs starred and explained', () => {
    expect(text).toContain('0.2 mm layers');
    expect(text).toContain('0.3 mm layers');
    expect(text).toMatch(/\[55 g\]/);
    expect(text.match(/g\*/g)).toHaveLength(4);
    expect(text.replaceAll('\n', ' ')).toContain(
      'span up to 22.5 mm (18.6 mm above the plate), and a bridge manages 10.0 mm',
    );
  });

  test('the lightest is named among those with two perimeters whose roofs close', () => {
    expect(text.replaceAll('\n', ' ')).toContain('0.2 mm layers, 2 perimeters, 5 % infill: 45 g (42 to 49)');
  });

  test('never run over the window, narrow or wide', () => {
    for (const width of [60, 80, 120]) expect(fits(renderWhatIf(ROWS, RECIPE, { width }), width)).toBe(true);
  });

  test('stand in the page where they were asked for, and nowhere else', () => {
    const piece = WEEKEND.pieces[0]!;
    const rows = ROWS.map(({ byKind: _, ...row }) => row);
    const page = renderPage({ plan: { ...WEEKEND, otherRecipes: [{ pieceId: piece.id, printerId: 'loft', rows }] } });
    expect(page).toContain('id="recipes"');
    expect(page.match(/g\*<br>/g)).toHaveLength(4);
    expect(renderPage({ plan: WEEKEND })).not.toContain('id="recipes"');
  });
});

describe('hollowing', () => {
  const print = (cavityMm3: number, massG: number): HollowPrint => ({
    cavityMm3,
    massG: g(massG),
    durationS: h(massG / 10),
    partG: massG,
    byKind: [],
  });
  const offer = (own: HollowPrint, plain: HollowPrint, shutInG: number): Parameters<typeof renderHollow>[0] => {
    const hollow: HollowOffer = { wallMm: 3, whole: print(0, 75), offset: plain, selfClosing: own };
    const saving = ({ massG, durationS }: HollowPrint, shut: number) => ({
      massG: 75 - massG.value,
      durationS: h(7.5).value - durationS.value,
      shutInG: shut,
    });
    return { ...hollow, saves: { offset: saving(plain, shutInG), selfClosing: saving(own, 0) } };
  };

  test('says what is saved, what remains, and what the plain offset would shut in', () => {
    const text = renderHollow(offer(print(32400, 41), print(44100, 36), 7), { width: 200 });
    expect(text).toContain('saves 34 g (45 %)');
    expect(text).toContain('41 g (38 to 44) remain');
    expect(text).toContain(
      'The plain inner offset is 44 cm³; it would save 39 g, with 7.0 g of support shut in for good.',
    );
  });

  test('says so where nothing is saved, or nothing lies deep enough', () => {
    expect(renderHollow(offer(print(7000, 79), print(7000, 79), 0), { width: 200 })).toContain(
      'nothing to save. Walls, floors and roofs around a cavity of 7 cm³ weigh 4.0 g more',
    );
    expect(renderHollow(offer(print(0, 75), print(0, 75), 0), { width: 200 })).toContain('nothing lies deeper');
  });
});

describe('the record', () => {
  const review: Review = {
    rows: [
      {
        at: '2026-06-01T20:10:00+02:00',
        what: 'done',
        copyIds: ['heron/neck/vertebra#1', 'heron/neck/vertebra#2'],
        quantity: 'mass',
        of: 'grey-petg',
        real: 82,
        said: g(66),
        others: 2,
        inside: false,
      },
    ],
    factors: [
      {
        quantity: 'mass',
        of: 'grey-petg',
        records: 3,
        factor: { value: 1.02, low: 0.97, high: 1.07 },
        lacks: ['fill'],
      },
      { quantity: 'time', of: 'loft', records: 0, factor: { value: 1, low: 0.85, high: 1.3 }, lacks: ['walls'] },
    ],
  };

  test('shows each error held out, what lies outside, and what is uncalibrated', () => {
    const text = renderReview(review, { width: 100 });
    expect(text).toMatch(/vertebra ×2\s+grey-petg\s+66 g \(61 to 71\)\s+82 g\s+\+24 %\s+outside/);
    expect(text.replaceAll('\n', ' ')).toContain('0 of 1 came inside');
    expect(text).toMatch(/minutes, loft\s+nothing\s+1\.00 \(0\.85 to 1\.30\)\s+everything: stated prior/);
    expect(text).toContain('infill and solid layers');
    expect(fits(renderReview(review, { width: 80 }), 80)).toBe(true);
  });

  test('an empty ledger says what to record', () => {
    expect(renderReview({ rows: [], factors: [] })).toContain('--grams');
  });

  test('a forecast agrees, or raises an alarm that says what to compare', () => {
    const agrees = renderForecast([{ quantity: 'mass', said: 97, estimated: g(96), inside: true }], { width: 200 });
    expect(agrees).toBe('forecast 97 g: agrees with the estimate of 96 g (88 to 104)\n');
    const alarm = renderForecast([{ quantity: 'time', said: 3600 * 20, estimated: h(9), inside: false }], {
      width: 300,
    });
    expect(alarm).toContain('ALARM: the forecast of 20 h is 122 % more than the estimate of 9 h');
    expect(renderForecast([])).toContain('--printer');
  });

  test('the trial prints say what to expect kind by kind and how to write it down', () => {
    const estimate: Estimate = {
      ...WEEKEND.estimates[0]!,
      massG: g(8.6),
      durationS: h(0.75),
      byKind: [{ kind: 'outerPerimeter', volumeMm3: 1, massG: 8.6, durationS: 1800, pathMm: 1 }],
    };
    const recipe = WEEKEND.recipes[0]!;
    const text = renderTrial([{ id: 'trial-walls', what: 'a lattice: perimeters only', recipe, estimate }], {
      width: 120,
      folder: 'trial-prints',
      printerId: 'loft',
      materialId: 'white-abs',
      recipeId: 'shell',
    });
    expect(text).toContain('8.6 g, 30 min');
    expect(text).toContain('record done trial-walls --printer loft --material white-abs');
  });
});

describe('copies printed together', () => {
  const saving = { aloneS: 36000, togetherS: 30000, warmUpS: 1800, layerChangesS: 3000, waitingS: 2400, travelS: 1200 };

  test('say how much less they take, and why', () => {
    expect(savingSentence(saving)).toBe(
      'Printed together copies take 8¼ h instead of 10 h one by one: warming up once 30 min, shared layer changes 50 min and no waiting for small layers to cool 40 min, less 20 min of travel between copies.',
    );
  });

  test('are summed over the plates of a plan', () => {
    const plates = WEEKEND.plates.slice(0, 2).map((plate) => ({ ...plate, saving }));
    expect(renderSummary({ ...WEEKEND, plates }, { width: 400 })).toContain('16¾ h instead of 20 h');
  });
});
