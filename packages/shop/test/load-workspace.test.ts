import { readFile } from 'node:fs/promises';
import { findWorkspaceRoot, loadWorkspace, loadWorkspaceProblems } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

describe('a workspace that is right', () => {
  test('is found from any folder inside it', async () => {
    const root = await folderWith(SMALL);
    expect(await findWorkspaceRoot(`${root}/lantern`)).toBe(root);
    expect(await findWorkspaceRoot('/')).toBeUndefined();
  });

  test('gives parts with ids from their folders, and the defaults of the shop', async () => {
    const workspace = await loadWorkspace(await folderWith(SMALL));
    expect(workspace.assemblies.map((assembly) => assembly.id)).toEqual(['lantern']);
    const [frame, lid] = workspace.assemblies[0]!.parts;
    expect(frame).toMatchObject({
      id: 'lantern/frame',
      meshFile: 'lantern/frame.stl',
      quantity: 2,
      spares: 0,
      materialId: 'white-abs',
      recipeId: 'shell',
      unit: 'mm',
      unitFrom: 'assumed',
      status: 'print',
      places: [],
    });
    expect(lid).toMatchObject({ id: 'lantern/lid', quantity: 1 });
    expect(workspace).toMatchObject({ seed: 1, unitsShown: 'metric', timeZone: 'Europe/Berlin', assumed: [] });
  });

  test('every example of the README loads', async () => {
    const readme = await readFile(new URL('../README.md', import.meta.url), 'utf8');
    const examples = [...readme.matchAll(/^### (\S+).*?```(?:yaml|jsonl)\n(.*?)```/gms)];
    const files = Object.fromEntries(examples.map(([, name, text]) => [name!, text!]));
    expect(Object.keys(files)).toEqual([
      'stonehand.yaml',
      'shop/printers.yaml',
      'shop/materials.yaml',
      'shop/recipes.yaml',
      'shop/spools.yaml',
      'shop/hours.yaml',
      'shop/hardware.yaml',
      'assembly.yaml',
      'accepted.yaml',
      'ledger.jsonl',
    ]);
    const { 'assembly.yaml': head, ...rest } = files;
    const root = await folderWith({
      ...rest,
      'heron/assembly.yaml': 'assemblies:\n  head: { place: [0, 0, 900] }\n  body: {}\n',
      'heron/head/assembly.yaml': head!,
      'heron/head/jaw/assembly.yaml': 'parts:\n  lower-beak: { mesh: beak.stl }\n',
      'heron/neck/assembly.yaml': 'parts:\n  ring: { mesh: ../head/skull.stl }\n',
      'heron/body/assembly.yaml': 'parts:\n  back-shell: { mesh: back.stl }\n',
      'heron/head/skull.stl': '',
      'heron/head/eye-bezel.stl': '',
      'heron/head/jaw/beak.stl': '',
      'heron/body/back.stl': '',
    });
    expect(await loadWorkspaceProblems(root)).toEqual([]);
    const workspace = await loadWorkspace(root);
    const skull = workspace.assemblies[0]!.children[0]!.assembly.parts[0]!;
    // turned a quarter about z: x goes to y; then lifted by 120
    expect(skull.places).toEqual([[0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 120]]);
    expect(workspace.assemblies[0]!.children[0]!.place).toEqual([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 900]);
    const [jaw] = workspace.assemblies[0]!.children[0]!.assembly.joints;
    expect(jaw).toMatchObject({
      id: 'heron/head/jaw-hinge',
      between: ['heron/head/skull', 'heron/head/jaw/lower-beak'],
      axis: [1, 0, 0],
      gapPerSideMm: 0.2,
      sweep: [-5, 35],
    });
    const example = workspace.assemblies[0]!.children[0]!.assembly;
    const { moments, ...limits } = example.limits;
    expect(limits).toEqual({
      massG: 1400,
      centreMm: { min: [-10, null, null], max: [10, null, 80] },
      centreNear: { atMm: [0, 0, 0], axis: [0, 0, 1], radiusMm: 12 },
      tipping: {
        pointsMm: [
          [-60, -40, 0],
          [-60, 40, 0],
          [80, 0, 0],
        ],
        leastDeg: 8,
      },
      down: [0, 0, -1],
    });
    expect(moments).toEqual([
      { name: 'jaw servo', atMm: [0, 40, 60], axis: [1, 0, 0], mostNmm: expect.closeTo(6 * 98.0665, 9), swings: false },
    ]);
    expect(example.glueGPerM).toBe(6);
    expect(example.extras).toMatchObject([
      { what: 'battery lead', kind: 'wiring', massG: 12 },
      { what: 'felt', kind: 'other', massG: 8, alongMm: [[0, 0, 90]] },
    ]);
    expect(example.ballast).toEqual({
      places: [
        { name: 'nape', minMm: [-60, -10, 20], maxMm: [-50, 10, 30], mostG: 80 },
        { name: 'chin', minMm: [60, 0, 0], maxMm: [60, 0, 0] },
      ],
      itemIds: ['M8 nut'],
      movable: [{ itemId: 'battery pack', minMm: [-30, -40, 30], maxMm: [30, 0, 40] }],
    });
    expect(skull.paint).toEqual([{ what: 'paint', gPerM2: 55, coats: 2 }]);
    expect(skull.lighten).toMatchObject({
      perimeters: [2],
      infillShares: [0.06, 0.1],
      wallsMm: [2.4],
      least: { perimeters: 2, infillShare: 0.05, solidLayers: 3, stiffness: 0.6 },
    });
    expect(workspace.ledger).toHaveLength(1);
    // W2: 655 g less an empty plastic spool of 180 to 290 g, less the 97.2 g printed after it was counted
    const w2 = workspace.spools.find((spool) => spool.id === 'W2')!;
    expect([w2.lowG, w2.netG, w2.highG].map((g) => Math.round(g * 10) / 10)).toEqual([267.8, 322.8, 377.8]);
  });

  test('without any file of the shop says what it assumes', async () => {
    const root = await folderWith({
      'stonehand.yaml': 'name: Bare\n',
      'assembly.yaml': 'parts:\n  one:\n    mesh: one.stl\n',
      'one.stl': '',
    });
    const workspace = await loadWorkspace(root);
    expect(workspace.assumed).toEqual([
      'A plain printer with a bed of 220x220x250 mm and 5 mm margin is assumed.',
      'PLA at 1.24 g/cm³ is assumed.',
      'The standard recipe is assumed: 0.2 mm layers, 2 perimeters, 15 % gyroid.',
      'Times are taken as UTC; write timeZone into stonehand.yaml.',
      'Presence on evenings from 17:30 and on weekends from 08:00, until 22:30, is assumed.',
    ]);
    expect(workspace.assemblies[0]).toMatchObject({ id: '.', parts: [{ id: 'one', meshFile: 'one.stl' }] });
    expect(workspace.printers[0]).toMatchObject({
      unattended: false,
      failPerStart: 0.03,
      failPerHour: 0.005,
      longestRunS: 20 * 3600,
    });
  });

  test('written in inches and pounds equals the same in mm and g', async () => {
    const inches = await loadWorkspace(
      await folderWith({
        ...SMALL,
        'shop/printers.yaml': 'bench:\n  volume: 8.5 in x 8.5 in x 10 in\n  margin: 5/8 in\n',
        'shop/spools.yaml': 'S1: { material: white-abs, net: 1 lb 3 1/4 oz }\n',
      }),
    );
    // 1 in = 25.4 mm and 1 lb = 453.59237 g = 16 oz, exact by definition
    expect(inches.printers[0]!.plateSizeMm[0]).toBeCloseTo(215.9, 12);
    expect(inches.printers[0]!.heightMm).toBeCloseTo(254, 12);
    expect(inches.printers[0]!.marginMm).toBeCloseTo(15.875, 12);
    expect(inches.spools[0]!.netG).toBeCloseTo(453.59237 + 3.25 * 28.349523125, 9);
  });
});
