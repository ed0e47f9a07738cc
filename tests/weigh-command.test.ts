import { appendFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { writeStl } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { beforeAll, describe, expect, test } from 'vitest';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

/** A block, corner at the origin. */
function block(w: number, d: number, h: number): Mesh {
  const corners = Array.from({ length: 8 }, (_, i) => [i & 1 ? w : 0, i & 2 ? d : 0, i & 4 ? h : 0]).flat();
  const triangles = [
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ];
  return { positions: Float64Array.from(corners), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

// A seesaw: a beam with one block at either end; the left one has to become lighter, or a weight goes to the right.
const ASSEMBLY = `
name: Seesaw
parts:
  left: { mesh: block.stl, unit: mm, pose: asModelled, place: [-100, -20, 0], lighten: { perimeters: [2], infill: [5 %, 15 %] } }
  right: { mesh: block.stl, unit: mm, pose: asModelled, place: [60, -20, 0], lighten: keep }
  foot: { mesh: foot.stl, unit: mm, pose: asModelled, place: [-10, -10, -4], lighten: keep }
hardware:
  cell: { at: [[-20, 0, 20]] }
limits:
  centre: { x: [-3, 5] }
  moments:
    pivot: { at: [0, 0, 0], axis: y, most: 2 N mm }
allowances:
  wiring: [{ what: lead, mass: 3, along: [[-60, 0, 10], [60, 0, 10]] }]
ballast:
  places:
    right end: { from: [60, -5, 0], to: [80, 5, 10] }
  movable:
    cell: { from: [-40, 0, 20], to: [40, 0, 20] }
`;
type Report = Readonly<{
  massG: { value: number; low?: number; high?: number };
  centreMm: readonly number[];
  byPartG: Readonly<Record<string, number>>;
  extraG?: number;
  weighedG?: number;
  limits: readonly { limit: string; margin: number }[];
  proposed?: {
    lightened?: {
      holds: boolean;
      changes: { partId: string; savedG: number }[];
      after: Report;
      search: { gap: number; choices: number };
    };
    ballasted?: { addedG: number; holds: boolean; moves: { byMm: number[] }[] }[];
  };
}>;

describe('weigh on a seesaw of blocks', () => {
  let root: string;
  beforeAll(() => {
    root = freshFolder('seesaw');
    mkdirSync(join(root, 'shop'));
    writeFileSync(
      join(root, 'stonehand.yaml'),
      'name: Seesaw\ntimeZone: UTC\nassemblies: [.]\ndefaults: { material: pla, recipe: plain }\n',
    );
    writeFileSync(
      join(root, 'shop/materials.yaml'),
      'pla: { kind: PLA, colour: white }\npetg: { kind: PETG, colour: white }\n',
    );
    writeFileSync(join(root, 'shop/recipes.yaml'), 'plain: { perimeters: 3, infill: 30 %, support: none }\n');
    writeFileSync(join(root, 'shop/hardware.yaml'), 'cell: { mass: 20 }\n');
    writeFileSync(join(root, 'assembly.yaml'), ASSEMBLY);
    writeFileSync(join(root, 'block.stl'), writeStl(block(40, 40, 20), 'block'));
    writeFileSync(join(root, 'foot.stl'), writeStl(block(20, 20, 4), 'foot'));
  });
  const weigh = (...args: string[]): { code: number; report: Report } => {
    const { code, out } = stonehand(['weigh', '--json', '--workers', '1', ...args], { cwd: root });
    return { code, report: (JSON.parse(out) as Report[])[0]! };
  };

  test('says what is beyond its limit, counts the lead, and ends with 1', () => {
    const { code, report } = weigh();
    expect(code).toBe(1);
    expect(report.extraG).toBe(3);
    expect(report.centreMm[0]).toBeLessThan(-3);
    expect(report.limits.filter(({ margin }) => margin < 0).map(({ limit }) => limit)).toEqual([
      'centre x at least',
      'moment about pivot at most',
    ]);
  });

  test('--lighten changes only what may change, and all limits hold then, proven', () => {
    const { lightened } = weigh('--lighten').report.proposed!;
    expect(lightened!.holds).toBe(true);
    expect(lightened!.changes.map(({ partId }) => partId)).toEqual(['left']);
    expect(lightened!.changes[0]!.savedG).toBeGreaterThan(0);
    expect(lightened!.after.limits.every(({ margin }) => margin >= 0)).toBe(true);
    expect(lightened!.search.gap).toBeLessThan(1e-9);
    // Two counts of perimeters times three shares of infill, today's among them.
    expect(lightened!.search.choices).toBe(6);
  });

  test('hollow and another material are ways too, less than the least is none', () => {
    const file = join(root, 'assembly.yaml');
    const rule = 'lighten: { hollow: [1.6], materials: [petg], infill: [2 %], least: { infill: 5 % } }';
    writeFileSync(file, ASSEMBLY.replace(/lighten: \{.*\}(?= \}\n {2}right)/, rule));
    const { lightened } = weigh('--lightest').report.proposed!;
    writeFileSync(file, ASSEMBLY);
    // Today's and hollow, in PLA and in PETG; 2 % of infill is below the least.
    expect(lightened!.search.choices).toBe(4);
    expect(lightened!.changes[0]!.savedG).toBeGreaterThan(0);
  });

  test('--ballast moves the cell first: nothing added, and by as much as the moment asks', () => {
    const { report } = weigh('--ballast');
    const [first] = report.proposed!.ballasted!;
    expect(first).toMatchObject({ addedG: 0, holds: true });
    // The tighter of both limits: 3 mm of the whole mass, or 2 N·mm of its weight.
    const offGMm = -report.massG.value * report.centreMm[0]!;
    const allowed = Math.min(2 / 9.80665e-3, 3 * report.massG.value);
    expect(first!.moves[0]!.byMm[0]!).toBeCloseTo((offGMm - allowed) / 20, 2);
  });

  test('a block on the scale replaces its estimate, and the interval narrows', () => {
    const before = weigh().report;
    // A scale that nearly agrees: one far off would also teach all other estimates, and their intervals with them.
    const grams = Number((0.97 * before.byPartG['left']!).toFixed(1));
    const line = { version: 1, at: '2026-06-01T12:00:00Z', what: 'weighed', copyIds: ['left#1'], massG: grams };
    appendFileSync(join(root, 'ledger.jsonl'), `${JSON.stringify(line)}\n`);
    const after = weigh().report;
    expect(after.weighedG).toBeCloseTo(grams, 9);
    expect(after.massG.value).toBeLessThan(before.massG.value);
    expect(after.byPartG['left']).toBeCloseTo(grams, 9);
    const width = ({ massG }: Report): number => massG.high! - massG.low!;
    expect(width(after)).toBeLessThan(width(before));
  });

  test('--out writes a page that says the same', () => {
    const folder = freshFolder('seesaw-out');
    const { code } = weigh('--out', folder, '--units', 'US');
    expect([0, 1]).toContain(code);
    expect(existsSync(join(folder, 'weigh.html'))).toBe(true);
    const page = readFileSync(join(folder, 'weigh.html'), 'utf8');
    expect(page).toContain('Seesaw: mass and balance');
    expect(page).toContain(' oz');
    expect(page.match(/<svg/g)!.length).toBeGreaterThan(4);
  });

  test('an assembly that is not there is named with its nearest', () => {
    const { code, err } = stonehand(['weigh', 'sesaw'], { cwd: root });
    expect(code).toBe(2);
    expect(err).toContain('there is no assembly "sesaw"');
  });
});
