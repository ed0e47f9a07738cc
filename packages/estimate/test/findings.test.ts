import { machineFindings, pieceFindings, weldFindings } from '@stonehand/estimate';
import type { Material, Printer, Recipe } from '@stonehand/model';
import { loadPolygons } from '@stonehand/slice';
import { describe, expect, test } from 'vitest';
import { materialOf, printerOf } from './machines.ts';
import { block, recipeOf } from './solids.ts';

const polygons = await loadPolygons();
const abs = materialOf({
  kind: 'ABS',
  nozzleC: 240,
  plateC: 100,
  shrinkShare: 0.0065,
  needs: ['enclosure'],
  joins: ['ABS', 'ASA', 'HIPS'],
});
const petg = materialOf({ kind: 'PETG', shrinkShare: 0.0035 });
const tpu = materialOf({ kind: 'TPU 95A', shrinkShare: 0.0085, flowMm3S: 2.5, needs: ['slowFeed'] });

describe('limits of printer, material and recipe', () => {
  const found = (
    printer: Partial<Printer>,
    material: Material = materialOf(),
    recipe: Partial<Recipe> = {},
  ): string[] =>
    machineFindings(printerOf(printer), material, recipeOf(recipe)).map(({ severity, code }) => `${severity} ${code}`);

  // Layers of 25 to 75 % of the nozzle, beads of 100 to 150 %: check values B4.
  test.each([
    [0.1, []],
    [0.3, []],
    [0.31, ['doubt LAYER_THICK']],
    [0.33, ['stop LAYER_THICK']],
    [0.09, ['doubt LAYER_THIN']],
  ])('layers of %f mm from a nozzle of 0.4', (layerMm, expected) => {
    expect(found({ flowMm3S: 99 }, materialOf({ flowMm3S: 99 }), { layerMm })).toEqual(expected);
  });

  test.each([
    [0.4, []],
    [0.6, []],
    [0.62, ['doubt BEAD_BROAD']],
    [0.38, ['doubt BEAD_NARROW']],
    [0.18, ['stop BEAD_NARROW']],
  ])('beads of %f mm from a nozzle of 0.4', (beadWidthMm, expected) => {
    expect(found({ flowMm3S: 99 }, materialOf({ flowMm3S: 99 }), { beadWidthMm })).toEqual(expected);
  });

  test('a first layer that is too thick is a doubt of its own', () => {
    expect(found({ flowMm3S: 99 }, materialOf({ flowMm3S: 99 }), { firstLayerMm: 0.35 })).toEqual([
      'doubt LAYER_THICK',
    ]);
  });

  test('ABS on an open printer that is too cold: an enclosure first, then nozzle and plate', () => {
    expect(found({ nozzleMaxC: 235, plateMaxC: 90, flowMm3S: 99 }, { ...abs, flowMm3S: 99 })).toEqual([
      'stop NEED_LACKING',
      'stop TOO_COLD',
      'stop TOO_COLD',
    ]);
    expect(found({ has: ['enclosure'], nozzleMaxC: 240, flowMm3S: 99 }, { ...abs, flowMm3S: 99 })).toEqual([]);
  });

  test('flexible filament needs its feeder, and its flow holds the speed to 30.71 mm/s (check values F3)', () => {
    const [need, flow] = machineFindings(printerOf(), tpu, recipeOf());
    expect(need.says).toContain('feeder');
    expect(flow).toMatchObject({ code: 'FLOW_LIMITS', severity: 'note', spoils: ['durationS'] });
    expect(flow.says).toContain('31 mm/s');
  });
});

describe('warping (thresholds: common practice, no source)', () => {
  const warps = (
    size: readonly [number, number, number],
    material: Material,
    has: Printer['has'] = [],
    recipe: Partial<Recipe> = {},
  ): number =>
    pieceFindings(block(...size), polygons, { recipe: recipeOf(recipe), printer: printerOf({ has }), material }).length;

  test('a long flat box of ABS with sharp corners lifts in the open, a small one does not', () => {
    expect(warps([200, 30, 5], abs)).toBe(1);
    expect(warps([30, 30, 5], abs)).toBe(0);
  });

  test('an enclosure carries more, a brim more still', () => {
    expect(warps([100, 30, 5], abs, ['enclosure'])).toBe(0);
    expect(warps([150, 30, 5], abs, ['enclosure'])).toBe(1);
    expect(warps([150, 30, 5], abs, ['enclosure'], { brimMm: 5 })).toBe(0);
  });

  test('kinds that hardly shrink and flexible ones are not suspected', () => {
    expect(warps([200, 30, 5], petg)).toBe(0);
    expect(warps([200, 30, 5], tpu)).toBe(0);
  });

  test('it says how long the contact is, how many corners are sharp, and by how much an end creeps', () => {
    const [finding] = pieceFindings(block(200, 30, 5), polygons, {
      recipe: recipeOf(),
      printer: printerOf(),
      material: abs,
    });
    // The longest extent of 200 × 30 is its diagonal, 202.2 mm; half of it times 0.65 %.
    expect(finding.says).toContain('202 mm of ABS');
    expect(finding.says).toContain('4 sharp corners');
    expect(finding.says).toContain('0.7 mm');
  });
});

describe('light through parts that must be opaque', () => {
  const codes = (
    size: readonly [number, number, number],
    opaqueMm: number | undefined,
    changes: Partial<Recipe> = {},
  ) =>
    pieceFindings(block(...size), polygons, {
      recipe: recipeOf(changes),
      printer: printerOf(),
      material: opaqueMm === undefined ? petg : { ...petg, opaqueMm },
      opaque: true,
    }).map(({ code }) => code);

  test('a wall thinner than the owner found opaque', () => {
    expect(codes([60, 1, 20], 1.5, { infillShare: 1 })).toEqual(['LIGHT_THIN']);
    expect(codes([60, 3, 20], 1.5, { infillShare: 1 })).toEqual([]);
  });

  test('sparse infill hides nothing: two perimeters twice are 1.6 mm, floor and roof 1.6 mm', () => {
    expect(codes([60, 20, 20], 1.5)).toEqual([]);
    expect(codes([60, 20, 20], 2)).toEqual(['LIGHT_SKIN', 'LIGHT_SKIN']);
    expect(codes([60, 20, 20], 2, { perimeters: 3, roofLayers: 6 })).toEqual([]);
  });

  test('an untested colour is a note, and parts that need not be opaque are not looked at', () => {
    expect(codes([60, 1, 20], undefined)).toEqual(['LIGHT_UNTESTED']);
    const piece = { recipe: recipeOf(), printer: printerOf(), material: { ...petg, opaqueMm: 2 } };
    expect(pieceFindings(block(60, 1, 20), polygons, piece)).toEqual([]);
  });
});

describe('solvent-welded joints (check values B2)', () => {
  const weld = { id: 'seam', kind: 'weld' as const };

  test('ABS welds to ASA, not to PETG, and PETG not to itself', () => {
    const asa = materialOf({ kind: 'ASA', joins: ['ABS', 'ASA', 'HIPS'] });
    expect(weldFindings(weld, [abs, asa])).toEqual([]);
    expect(weldFindings(weld, [abs, petg])).toMatchObject([{ severity: 'stop', code: 'WELD_IMPOSSIBLE' }]);
    expect(weldFindings(weld, [petg, petg])).toHaveLength(1);
  });

  test('a glued joint may be of anything', () => {
    expect(weldFindings({ id: 'seam', kind: 'glue' }, [abs, petg])).toEqual([]);
  });
});
