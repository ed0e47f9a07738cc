import { WebIO } from '@gltf-transform/core';
import type { Pose, SupportCause } from '@stonehand/model';
import { causeLines, fitRows, partGlb, posePng, renderFit, renderFitPage, renderWays } from '@stonehand/report';
import { decode } from 'fast-png';
import { expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';
import { box, mushroom } from './shapes.ts';

const BRACE: SupportCause = {
  volumeMm3: 5000,
  share: 0.94,
  areaMm2: 800,
  boxMm: { min: [0, 0, 40], max: [66, 12, 44] },
  sizeMm: [66, 12],
  atHeightMm: 42,
  level: true,
};
const RIM: Pose = {
  id: 'turned-1',
  rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1],
  offsetMm: [0, 0, 0],
  sizeMm: [100, 80, 60],
  heightMm: 60,
  supportMm3: 5300,
  scarMm2: 900,
  contactMm2: 800,
  overhangMm2: 1200,
  tipDeg: 31,
  reason: 'rim down: support under 800 mm², 5.3 cm³ of columns',
  why: 'least support, 40 cm³ less support than as modelled',
};
const MODELLED: Pose = {
  ...RIM,
  id: 'asModelled',
  supportMm3: 45_300,
  reason: 'as modelled, flat face down: support under 9000 mm², 45 cm³ of columns',
  beatenBy: 'turned-1',
};

test('what causes most of the support is named, and what would be left without it', () => {
  expect(causeLines([BRACE])).toEqual([
    'a ceiling of 66 × 12 mm, 42 mm up, causes 94 % of its support; without it this way needs next to none',
  ]);
  expect(causeLines([{ ...BRACE, share: 1 }])[0]).toContain('needs none');
  expect(causeLines([{ ...BRACE, share: 0.5, level: false }])[0]).toBe(
    'a slope of 66 × 12 mm, 42 mm up, causes 50 % of its support',
  );
  expect(causeLines([])).toEqual([]);
});

test('ways up are told best first, with grams, reasons and which beats which', () => {
  const text = renderWays(
    { name: 'skull', poses: [RIM, { ...MODELLED }], causes: [BRACE], gramsPerMm3: 0.15 * 1.04e-3 },
    { width: 100 },
  );
  // 5300 mm³ of columns, 15 % of it ABS of 1.04 g/cm³: 0.83 g.
  expect(text).toMatch(/1\s+rim down\s+60\.0\s+5\.3\s+0\.8/);
  expect(text).toContain('1: least support, 40 cm³ less support than as modelled');
  expect(text).toContain('no better in anything than 1');
  expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(100);
});

test('the matrix has the grams of support, and heavy ones say what causes them', () => {
  const rows = fitRows(WEEKEND).map((row, i) => ({ ...row, supportG: i === 0 ? 42 : 0, causes: [BRACE] }));
  const text = renderFit({ rows, printers: WEEKEND.printers }, { width: 140 });
  expect(text).toContain('support');
  expect(text).toContain(`${rows[0]!.name}, 42 g: a ceiling of 66 × 12 mm`);
  expect(text).not.toContain(`${rows[1]!.name}, 0 g:`);
});

test('the page names every picture and escapes what people wrote', () => {
  const row = { ...fitRows(WEEKEND)[0]!, name: '<b>skull</b>', supportG: 42, causes: [BRACE] };
  const page = renderFitPage({
    title: 'heron & co',
    printers: WEEKEND.printers,
    rows: [row],
    parts: [
      {
        row,
        picture: 'a b.png',
        glb: 'a.glb',
        overhangFromVerticalDeg: 45,
        ways: [
          { pose: RIM, picture: 'a b.png', supportG: 42 },
          { pose: MODELLED, picture: 'a-2.png', supportG: 350 },
        ],
      },
    ],
  });
  expect(page).toContain('heron &amp; co');
  expect(page).not.toContain('<b>skull</b>');
  expect(page).toContain('src="a%20b.png"');
  expect(page).toContain('src="a-2.png"');
  expect(page).toContain('overhang 45° to 90° from vertical');
});

test('support is drawn see-through: bluer where it stands, and only there; the bed lies below', () => {
  const part = mushroom(4, 12, 20, 4);
  const options = { view: 'above', scale: false, ruler: false, widthPx: 200, heightPx: 200 } as const;
  const read = (more: object): Uint8Array => decode(posePng(part, { ...options, ...more })).data as Uint8Array;
  const support = box(4, 4, 4);
  const bluer = (a: Uint8Array, b: Uint8Array): number => {
    let count = 0;
    for (let i = 0; i < a.length; i += 4) if (b[i + 2]! - b[i]! > a[i + 2]! - a[i]! + 20) count++;
    return count;
  };
  const bare = read({});
  expect(bluer(bare, bare)).toBe(0);
  expect(bluer(bare, read({ support }))).toBeGreaterThan(10);
  const bed = [
    [-200, -200],
    [200, -200],
    [200, 200],
    [-200, 200],
  ] as const;
  // The sheet of the bed is the only thing as faint as 7 %.
  const faint = (d: Uint8Array): number => d.filter((v, i) => i % 4 === 3 && v > 10 && v < 25).length;
  expect(faint(read({ bed }))).toBeGreaterThan(20 * faint(bare));
  expect(faint(read({ bed }))).toBeGreaterThan(2000);
});

test('a model with support keeps it apart, see-through', async () => {
  const glb = await partGlb(box(10, 10, 10), { name: 'block', support: box(2, 2, 5) });
  const document = await new WebIO().readBinary(glb);
  const materials = document.getRoot().listMaterials();
  expect(materials.map((m) => [m.getName(), m.getAlphaMode()])).toEqual([
    ['overhang', 'OPAQUE'],
    ['support', 'BLEND'],
  ]);
  expect(
    document
      .getRoot()
      .listNodes()
      .map((node) => node.getName()),
  ).toEqual(['block', 'support']);
});
