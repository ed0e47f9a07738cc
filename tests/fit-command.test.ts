import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { mergeMeshes, weld, writeStl } from '@stonehand/mesh';
import type { FitVerdict, Mesh, Pose, SupportCause, Vec3 } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

type Row = Readonly<{
  file: string;
  poses: readonly Pose[];
  fits: readonly FitVerdict[];
  smallestBedMm: Vec3;
  causes: readonly SupportCause[];
}>;

const rowsOf = (...args: string[]): Row[] => JSON.parse(stonehand(['fit', ...args, '--json']).out);

describe('fit on files without a workspace', () => {
  const folder = freshFolder('fit');
  const table = mergeMeshes([box([15, 15, 0], [25, 25, 30]), box([0, 0, 30], [40, 40, 35])]);
  writeFileSync(join(folder, 'table.stl'), writeStl(table, 'table'));
  writeFileSync(join(folder, 'plank.stl'), writeStl(box([0, 0, 0], [250, 40, 10]), 'plank'));

  test('gives a row a file, best pose first, and the figures of the own pose when asked', () => {
    const [plank, tables] = rowsOf(folder, '--bed', '220x220x250');
    expect([plank!.file, tables!.file]).toEqual(['plank.stl', 'table.stl']);
    expect(tables!.poses[0]).toMatchObject({ supportMm3: 0, reason: 'flat face down: no support' });
    const own = rowsOf(join(folder, 'table.stl'), '--bed', '220x220x250', '--pose', 'asModelled')[0]!;
    expect(own.poses.map(({ id }) => id)).toEqual(['asModelled']);
    // (1600 − 100) · 30 of columns on 1500 mm² of contact: check values F7.
    expect(Math.abs(own.poses[0]!.supportMm3 / 45_000 - 1)).toBeLessThan(0.01);
    expect(Math.abs(own.poses[0]!.contactMm2 / 1500 - 1)).toBeLessThan(0.01);
    expect(own.causes[0]).toMatchObject({ level: true });
    expect(own.causes[0]!.share).toBeGreaterThan(0.99);
  });

  test('turns a plank on a square bed and not on a smaller one, where it says by how much and at what scale', () => {
    const plank = rowsOf(join(folder, 'plank.stl'), '--bed', '224x182x100')[0]!.fits[0]!;
    // 3-4-5: 250 · 0.8 + 40 · 0.6 = 224, 250 · 0.6 + 40 · 0.8 = 182, but 5 mm of margin a side are the bed's.
    // Leaning in height it goes in all the same, and that is told with how soon it falls.
    expect(plank.verdict).toBe('tipped');
    expect(plank.why).toMatch(/leans only \d+° before it tips/);
    const low = rowsOf(join(folder, 'plank.stl'), '--bed', '224x182x12')[0]!.fits[0]!;
    expect(low.overMm!.some((mm) => mm > 0)).toBe(true);
    expect(low.scaleThatFits).toBeGreaterThan(0.93);
    expect(low.scaleThatFits).toBeLessThan(0.96);
    const room = rowsOf(join(folder, 'plank.stl'), '--bed', '234x192x100')[0]!.fits[0]!;
    expect(room.verdict).toBe('turned');
    expect(Math.abs(room.turnDeg!)).toBeCloseTo((Math.atan2(3, 4) * 180) / Math.PI, 3);
    const round = rowsOf(join(folder, 'plank.stl'), '--bed', 'round:200x250')[0]!;
    // Standing on its end it fits; the circle around it lying down is √(250² + 40²) wide.
    expect(round.fits[0]!.verdict).toBe('tipped');
    expect(round.smallestBedMm.map((mm) => Math.round(mm))).toEqual([250, 40, 10]);
  });

  test('with support alone counted nothing needs less', () => {
    const all = rowsOf(folder, '--bed', '220x220x250');
    const alone = rowsOf(folder, '--bed', '220x220x250', '--weights', 'support');
    alone.forEach((row, i) => {
      expect(row.poses[0]!.supportMm3).toBeLessThanOrEqual(all[i]!.poses[0]!.supportMm3 + 1);
    });
    expect(stonehand(['fit', folder, '--weights', 'beauty']).code).toBe(2);
  });

  test('writes a page with a picture and a model of every part', () => {
    const out = join(folder, 'page');
    const told = stonehand(['fit', folder, '--bed', '220x220x250', '--out', out]);
    expect(told.code).toBe(0);
    const page = readFileSync(join(out, 'index.html'), 'utf8');
    for (const [, file] of page.matchAll(/(?:src|href)="([^"#]+)"/g)) expect(existsSync(join(out, file!))).toBe(true);
    expect(page).toContain('The smallest bed that holds it so: 40 × 40 × 35 mm.');
    // PNG, section 11.2.2: width and height stand at byte 16 of the file.
    const png = readFileSync(join(out, 'table.png'));
    expect([png.readUInt32BE(16), png.readUInt32BE(20)]).toEqual([1280, 640]);
    expect(readFileSync(join(out, 'table.glb')).subarray(0, 4).toString()).toBe('glTF');
  });
});

test('a part may say which side is down and where alone support is allowed', () => {
  const root = freshFolder('fit-rules');
  const shelves = mergeMeshes([
    box([0, 0, 0], [5, 20, 60]),
    box([5, 0, 20], [35, 20, 24]),
    box([-30, 0, 50], [0, 20, 54]),
  ]);
  mkdirSync(join(root, 'shop'));
  mkdirSync(join(root, 'shelf'));
  writeFileSync(join(root, 'shelf', 'shelf.stl'), writeStl(shelves, 'shelf'));
  writeFileSync(
    join(root, 'stonehand.yaml'),
    'name: shelf\ntimeZone: Europe/Berlin\nshop: shop\nassemblies: [shelf]\n',
  );
  const part = (rules: string, pose = 'asModelled'): Row => {
    writeFileSync(
      join(root, 'shelf', 'assembly.yaml'),
      `parts:\n  shelf:\n    mesh: shelf.stl\n    unit: mm\n    pose: ${pose}\n${rules}`,
    );
    return rowsOf(root)[0]!;
  };
  const both = part('').poses[0]!.supportMm3;
  expect(Math.abs(both / (30 * 20 * 70) - 1)).toBeLessThan(0.01);
  const one = part('    support: { only: [{ from: [4, -1, 10], to: [36, 21, 30] }] }\n').poses[0]!.supportMm3;
  expect(Math.abs(one / (30 * 20 * 20) - 1)).toBeLessThan(0.01);
  const down = part('    down: [-y, y]\n', 'bestOf');
  for (const { rotation } of down.poses) expect(Math.abs(rotation[7]!)).toBeCloseTo(1, 9);
});

function box([ax, ay, az]: Vec3, [bx, by, bz]: Vec3): Mesh {
  const at = (k: number): number[] => [k & 1 ? bx : ax, k & 2 ? by : ay, k & 4 ? bz : az];
  const faces = [
    0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5,
  ];
  return weld(Float64Array.from(faces.flatMap(at)));
}
