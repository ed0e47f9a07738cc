import {
  builtInHardware,
  builtInHardwareNames,
  loadWorkspace,
  MATERIAL_KINDS,
  MOTIONS,
  materialKind,
  nozzleFlowFactor,
} from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

function massOf(name: string): number {
  const item = builtInHardware(name);
  if (item === undefined) throw new Error(`there is no ${name}`);
  return item.massG;
}

describe('filament kinds against published tables', () => {
  // Density, g/cm³: typical value and range. Shrinkage %: range of the moulder's tables. °C: ranges of hobby references. Sources: a materials
  // site (PLA, PETG), a plastics retailer's specific gravity and shrinkage tables, a training sheet on polymer shrinkage, two data sheets
  // (PLA-CF, PETG-CF), a mould maker's table (TPU), a hobby material reference and a filament wiki (temperatures).
  // PLA+, ASA, TPU, PA12, PVA and PA-CF densities and the temperatures of PA6, PP, HIPS and PVA are from memory in the same table.
  test.each([
    {
      kind: 'PLA',
      density: 1.24,
      range: [1.22, 1.26],
      nozzle: [190, 220],
      plate: [20, 60],
      shrink: [0.1, 0.3],
      dry: [4, 6],
    },
    {
      kind: 'PLA+',
      density: 1.24,
      range: [1.2, 1.26],
      nozzle: [205, 230],
      plate: [50, 60],
      shrink: [0.2, 0.3],
      dry: [4, 6],
    },
    {
      kind: 'PETG',
      density: 1.27,
      range: [1.25, 1.29],
      nozzle: [220, 250],
      plate: [60, 90],
      shrink: [0.2, 0.5],
      dry: [4, 8],
    },
    {
      kind: 'ABS',
      density: 1.04,
      range: [1.02, 1.08],
      nozzle: [230, 260],
      plate: [90, 110],
      shrink: [0.4, 0.9],
      dry: [4, 6],
    },
    {
      kind: 'ASA',
      density: 1.07,
      range: [1.05, 1.1],
      nozzle: [240, 260],
      plate: [90, 110],
      shrink: [0.4, 0.7],
      dry: [4, 6],
    },
    {
      kind: 'TPU 95A',
      density: 1.21,
      range: [1.18, 1.24],
      nozzle: [210, 240],
      plate: [20, 70],
      shrink: [0.7, 1],
      dry: [4, 8],
    },
    {
      kind: 'PA6',
      density: 1.13,
      range: [1.12, 1.16],
      nozzle: [250, 280],
      plate: [70, 110],
      shrink: [1, 2.2],
      dry: [8, 12],
    },
    {
      kind: 'PA12',
      density: 1.01,
      range: [1.01, 1.03],
      nozzle: [255, 275],
      plate: [100, 110],
      shrink: [0.8, 2],
      dry: [8, 12],
    },
    {
      kind: 'PC',
      density: 1.2,
      range: [1.18, 1.22],
      nozzle: [260, 310],
      plate: [90, 110],
      shrink: [0.5, 0.7],
      dry: [6, 8],
    },
    {
      kind: 'PP',
      density: 0.9,
      range: [0.89, 0.92],
      nozzle: [220, 250],
      plate: [85, 105],
      shrink: [1, 2.5],
      dry: [0, 0],
    },
    {
      kind: 'HIPS',
      density: 1.04,
      range: [1.03, 1.08],
      nozzle: [230, 250],
      plate: [90, 110],
      shrink: [0.4, 0.7],
      dry: [4, 6],
    },
    {
      kind: 'PVA',
      density: 1.23,
      range: [1.19, 1.31],
      nozzle: [180, 210],
      plate: [45, 60],
      shrink: [0, 0],
      dry: [4, 8],
    },
    {
      kind: 'PLA-CF',
      density: 1.29,
      range: [1.29, 1.29],
      nozzle: [200, 240],
      plate: [20, 60],
      shrink: [0, 0.3],
      dry: [4, 6],
    },
    {
      kind: 'PETG-CF',
      density: 1.34,
      range: [1.34, 1.34],
      nozzle: [230, 270],
      plate: [60, 90],
      shrink: [0, 0.5],
      dry: [4, 8],
    },
    {
      kind: 'PA-CF',
      density: 1.18,
      range: [1.1, 1.25],
      nozzle: [260, 300],
      plate: [70, 110],
      shrink: [0, 2.2],
      dry: [8, 12],
    },
  ])('$kind', ({ kind, density, range, nozzle, plate, shrink, dry }) => {
    const found = materialKind(kind)!;
    const within = (value: number, [low, high]: number[]): void => {
      expect(value).toBeGreaterThanOrEqual(low!);
      expect(value).toBeLessThanOrEqual(high!);
    };
    expect(found.densityGPerCm3).toBe(density);
    within(found.densityGPerCm3, range);
    within(found.nozzleC, nozzle);
    within(found.plateC, plate);
    within(100 * found.shrinkShare, shrink);
    within(found.dryH, dry);
  });

  test('the table above names every kind', () => {
    expect(MATERIAL_KINDS).toHaveLength(15);
  });

  // Enclosure for ABS and ASA: a filament wiki; hardened nozzle for carbon: two magazines' wear tests of 2019; slow feed for TPU: two pages on its speed.
  test.each([
    ['ABS', ['enclosure']],
    ['ASA', ['enclosure']],
    ['PC', ['enclosure']],
    ['PLA', []],
    ['PETG', []],
    ['TPU 95A', ['slowFeed']],
    ['PLA-CF', ['hardNozzle']],
    ['PA-CF', ['enclosure', 'hardNozzle']],
  ])('%s needs %j', (kind, needs) => {
    expect(materialKind(kind)!.needs).toEqual(needs);
  });

  test('solvents join ABS, ASA and HIPS among themselves and nothing else', () => {
    for (const kind of MATERIAL_KINDS) {
      expect(kind.joins).toEqual(['ABS', 'ASA', 'HIPS'].includes(kind.kind) ? ['ABS', 'ASA', 'HIPS'] : []);
    }
  });

  test('flexible filament stays within 15 to 30 mm/s at a bead of 0.45 × 0.2 mm', () => {
    // Bead area (w − h)·h + π(h/2)² = 0.0814159 mm²; 2.5 mm³/s gives 30.71 mm/s, the published 30 within 3 %.
    const beadMm2 = 0.25 * 0.2 + Math.PI * 0.1 ** 2;
    expect(materialKind('TPU 95A')!.flowMm3S / beadMm2).toBeGreaterThan(15);
    expect(materialKind('TPU 95A')!.flowMm3S / beadMm2).toBeLessThan(30 * 1.03);
  });
});

describe('motion against published ranges', () => {
  // mm/s, mm/s²: a filament maker's wiki on printing speeds, a comparison of frame kinds, common practice (travel, acceleration), memory (corners)
  test.each([
    { name: 'plain' as const, print: [40, 60], travel: [100, 150], accel: [500, 1500], corner: [8, 10] },
    { name: 'damped' as const, print: [100, 250], travel: [200, 400], accel: [3000, 8000], corner: [5, 9] },
    { name: 'core frame' as const, print: [150, 300], travel: [300, 500], accel: [5000, 20000], corner: [5, 12] },
  ])('$name', ({ name, print, travel, accel, corner }) => {
    const { speedMmS, accelMmS2, cornerSpeedMmS, firstLayerMmS } = MOTIONS[name];
    for (const kind of ['outerPerimeter', 'innerPerimeter', 'solid', 'infill', 'support', 'contact'] as const) {
      expect(speedMmS[kind], kind).toBeGreaterThanOrEqual(print[0]!);
      expect(speedMmS[kind], kind).toBeLessThanOrEqual(print[1]!);
      expect(accelMmS2[kind], kind).toBeGreaterThanOrEqual(accel[0]!);
      expect(accelMmS2[kind], kind).toBeLessThanOrEqual(accel[1]!);
    }
    expect(speedMmS.travel).toBeGreaterThanOrEqual(travel[0]!);
    expect(speedMmS.travel).toBeLessThanOrEqual(travel[1]!);
    expect(cornerSpeedMmS).toBeGreaterThanOrEqual(corner[0]!);
    expect(cornerSpeedMmS).toBeLessThanOrEqual(corner[1]!);
    // any machine: first layer 15 to 50 mm/s at 500 to 1000 mm/s²; bridges slower than the rest
    expect(firstLayerMmS).toBeGreaterThanOrEqual(15);
    expect(firstLayerMmS).toBeLessThanOrEqual(50);
    expect(accelMmS2.brim).toBeGreaterThanOrEqual(500);
    expect(accelMmS2.brim).toBeLessThanOrEqual(1000);
    expect(speedMmS.bridge).toBeLessThan(speedMmS.outerPerimeter);
  });

  test('a standard hot end melts 11 mm³/s and high flow 15 to 30 (measurements of a tuning guide)', () => {
    expect(MOTIONS.plain.flowMm3S).toBe(11);
    expect(MOTIONS['core frame'].flowMm3S).toBeGreaterThanOrEqual(15);
    expect(MOTIONS['core frame'].flowMm3S).toBeLessThanOrEqual(30);
  });

  test('larger nozzles carry more: 0.25 × 0.4, 0.6 × 1.4, 0.8 × 1.8 (from memory), straight between', () => {
    expect([0.2, 0.25, 0.4, 0.5, 0.6, 0.8, 1.2].map(nozzleFlowFactor)).toEqual([
      0.4,
      0.4,
      1,
      expect.closeTo(1.2, 12),
      1.4,
      1.8,
      1.8,
    ]);
  });
});

describe('masses of hardware', () => {
  // A bearing maker's catalogue, miniature series 600, 620, 680 and 6800: open and with two shields, g.
  test.each([
    ['603', 0.84, 1.43],
    ['604', 2.19, 2.34],
    ['605', 3.46, 3.75],
    ['606', 5.94, 6.89],
    ['607', 7.8, 8.24],
    ['608', 11.8, 12.9],
    ['623', 1.45, 1.65],
    ['624', 3.1, 3.2],
    ['625', 4.95, 5.1],
    ['626', 8.12, 8.65],
    ['688', 3.11, 4.05],
  ])('bearing %s is %d g open and %d g shielded', (number, open, shielded) => {
    expect(massOf(`${number} bearing`)).toBe(open);
    expect(massOf(`${number} shielded bearing`)).toBe(shielded);
  });

  test.each([
    ['6800', 5.5],
    ['6801', 6.3],
    ['6802', 7.4],
    ['6803', 8.2],
  ])('bearing %s is %d g open; no mass with shields is known', (number, open) => {
    expect(massOf(`${number} bearing`)).toBe(open);
    expect(builtInHardware(`${number} shielded bearing`)).toBeUndefined();
  });

  // kg per 1000 pieces of a published table of socket-head screw weights
  test.each([
    ['M2x10', 0.295],
    ['M2.5x10', 0.525],
    ['M3x10', 0.9],
    ['M3x16', 1.2],
    ['M3x20', 1.4],
    ['M4x16', 2.3],
    ['M4x20', 2.7],
    ['M6x20', 6.5],
    ['M6x30', 8.3],
    ['M8x20', 13.4],
    ['M8x30', 16.9],
  ])('screw %s weighs %d g', (size, massG) => {
    expect(massOf(`${size} socket screw`)).toBe(massG);
  });

  // Computed from ISO 4762 sizes: π/4·dk²·k − √3/2·s²·t + π/4·d2²·l. The published M5 row (3.5, 4.0) is 10 % lighter and not used.
  test.each([
    ['M5x16', 3.936],
    ['M5x20', 4.431],
  ])('screw %s is computed: %d g', (size, massG) => {
    expect(massOf(`${size} socket screw`)).toBeCloseTo(massG, 2);
  });

  test('a length between two published ones weighs between them, and one beside within 5 % (M3 up)', () => {
    expect(massOf('M3x12 socket screw')).toBeGreaterThan(massOf('M3x10 socket screw'));
    expect(massOf('M3x12 socket screw')).toBeLessThan(massOf('M3x16 socket screw'));
    for (const [size, published] of [
      ['M3x10', 0.9],
      ['M3x16', 1.2],
      ['M4x16', 2.3],
      ['M4x20', 2.7],
      ['M6x20', 6.5],
      ['M8x20', 13.4],
    ] as const) {
      // a hair's breadth longer is not in the table, so it is computed
      const computed = massOf(`${size}.001 socket screw`);
      // 5 % between tables, and the published one rounds to 0.1 g.
      expect(Math.abs(computed - published), size).toBeLessThan(0.05 * published + 0.05);
    }
  });

  // (√3/2·s² − π/4·d2²)·m·7.85 g/cm³ with d2 = d − 0.6495·P: worked by hand for the table of check values
  test.each([
    ['M2', 0.144],
    ['M2.5', 0.28],
    ['M3', 0.388],
    ['M4', 0.818],
    ['M5', 1.463],
    ['M6', 2.617],
    ['M8', 5.646],
  ])('nut %s weighs %d g', (size, massG) => {
    expect(massOf(`${size} nut`)).toBeCloseTo(massG, 3);
    expect(massOf(`${size} thin nut`)).toBeLessThan(massG);
  });

  // π/4·(d2² − d1²)·h·7.85 g/cm³ with the sizes of ISO 7089
  test.each([
    ['M2', 0.0373],
    ['M2.5', 0.0885],
    ['M3', 0.1195],
    ['M4', 0.3083],
    ['M5', 0.4434],
    ['M6', 1.0164],
    ['M8', 1.8293],
  ])('washer %s weighs %d g', (size, massG) => {
    expect(massOf(`${size} washer`)).toBeCloseTo(massG, 4);
  });

  // π/4·d²·100·ρ: brass 8.5, aluminium 2.70, steel 7.85 g/cm³ (common practice)
  test.each([
    ['4x100 brass rod', 10.681],
    ['8x100 brass rod', 42.726],
    ['10x100 aluminium rod', 21.206],
    ['3x100 aluminium rod', 1.909],
    ['6x100 steel rod', 22.195],
    ['M4x100 threaded rod', 7.75],
    // neodymium 7.5 g/cm³
    ['5x2 magnet', 0.295],
    ['6x3 magnet', 0.636],
    ['8x3 magnet', 1.131],
    ['10x3 magnet', 1.767],
    ['10x5x2 magnet', 0.75],
  ])('%s weighs %d g', (name, massG) => {
    expect(massOf(name)).toBeCloseTo(massG, massG === 7.75 ? 2 : 3);
  });

  test('every name that is offered exists, and none of another form does', () => {
    for (const name of builtInHardwareNames()) expect(builtInHardware(name), name).toMatchObject({ id: name });
    for (const name of [
      'M7 nut',
      'M3x0 socket screw',
      'M2 lock nut',
      '609 bearing',
      'constructor nut',
      '0x3 magnet',
      'm3 nut',
      'M3 nuts',
    ]) {
      expect(builtInHardware(name), name).toBeUndefined();
    }
  });

  test('steel and magnets are magnetic, brass and aluminium are not', () => {
    expect(
      ['M3 nut', '608 bearing', '6x3 magnet', '4x100 steel rod'].map((name) => builtInHardware(name)!.magnetic),
    ).toEqual([true, true, true, true]);
    expect(['4x100 brass rod', '4x100 aluminium rod'].map((name) => builtInHardware(name)!.magnetic)).toEqual([
      false,
      false,
    ]);
  });

  test('an entry of hardware.yaml wins over the built-in item of its name', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/hardware.yaml': '608 bearing: { mass: 12.1, name: weighed here }\n',
      'lantern/assembly.yaml': 'parts: { lid: { mesh: lid.stl } }\nhardware: { 608 bearing: 2, M3 nut: 1 }\n',
    });
    const { hardware } = await loadWorkspace(root);
    expect(hardware.map((item) => [item.id, Math.round(item.massG * 100) / 100])).toEqual([
      ['608 bearing', 12.1],
      ['M3 nut', 0.39],
    ]);
  });
});
