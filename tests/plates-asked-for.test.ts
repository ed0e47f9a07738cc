import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { bytesSource, massProperties, mergeMeshes, readStl, transformMesh, writeStl } from '@stonehand/mesh';
import type { Mesh, Plan, Plate } from '@stonehand/model';
import { strFromU8, unzipSync } from 'fflate';
import { beforeAll, describe, expect, test } from 'vitest';
import { box } from '../packages/report/test/shapes.ts';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

const shifted = (mesh: Mesh, x: number, y: number, z: number): Mesh =>
  transformMesh(mesh, [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z]);

/** A table on two feet that reach into its top: 46 mm between them hang 20 mm above the plate. */
function table(): Mesh {
  return mergeMeshes([shifted(box(60, 20, 4), 0, 0, 20), box(7, 20, 21), shifted(box(7, 20, 21), 53, 0, 0)]);
}

const ASSEMBLY = `parts:
  table:
    mesh: table.stl
    pose: asModelled
    putIn: [{ item: 10x3 magnet, at: 4 mm }]
    finishing: [{ what: sand the top, handsOn: 20 min }]
  clip:
    mesh: clip.stl
    quantity: 4
    spares: 1
    together: clips
  knob:
    mesh: knob.stl
    quantity: 2
    apart: knobs
    pins: { 2: second }
`;

describe('plates as their owner asks for them', () => {
  let root: string;
  let few: Plan;
  let again: Plan;
  const plan = (...more: string[]): Plan =>
    JSON.parse(stonehand(['plan', root, '--from', '2026-06-05T18:00:00Z', '--json', ...more]).out);
  const withCopy = ({ plates }: Plan, copyId: string): Plate =>
    plates.find(({ placed }) => placed.some((at) => at.copyId === copyId))!;

  beforeAll(() => {
    root = freshFolder('asked');
    mkdirSync(join(root, 'shop'));
    const bed = 'volume: 120x120x150\n  motion: plain\n';
    const files = {
      'stonehand.yaml': "name: Asked\ntimeZone: UTC\nassemblies: ['.']\nplates: fewest\n",
      'assembly.yaml': ASSEMBLY,
      'shop/printers.yaml': `first:\n  ${bed}  failures: { perPiece: 1 % }\nsecond:\n  ${bed}`,
      'shop/materials.yaml': 'pla:\n  kind: PLA\n  colour: white\n',
      'shop/recipes.yaml': 'standard:\n  layer: 0.3\n',
      'shop/hours.yaml': 'otherwise: present\n',
      'table.stl': writeStl(table(), 'table'),
      'clip.stl': writeStl(box(20, 12, 5), 'clip'),
      'knob.stl': writeStl(box(15, 15, 9), 'knob'),
    };
    for (const [name, content] of Object.entries(files)) writeFileSync(join(root, name), content);
    few = plan('--with-support');
    const accepted = stonehand(['accept', '--plate', withCopy(few, 'clip#1').id.slice(-6)], { cwd: root });
    expect(accepted.err).toBe('');
    again = plan('--plates', 'surest', '--seed', '99');
  }, 120_000);

  test('spares are printed, copies that go together share a plate, those kept apart do not, pins hold', () => {
    const clips = [1, 2, 3, 4, 5].map((n) => withCopy(few, `clip#${n}`).id);
    expect(new Set(clips).size).toBe(1);
    expect(withCopy(few, 'knob#1').id).not.toBe(withCopy(few, 'knob#2').id);
    expect(withCopy(few, 'knob#2').printerId).toBe('second');
    expect(few.plates.length).toBe(2);
  });

  test('a plate says how likely it fails and what it takes with reprints', () => {
    for (const { failChance, expectedS, durationS } of few.plates) {
      expect(failChance).toBeGreaterThan(0.03); // a start alone fails as often
      expect(failChance).toBeLessThan(0.2);
      expect(expectedS).toBeGreaterThan(durationS.value);
    }
  });

  test('an accepted plate stays whatever seed and aim a later plan has', () => {
    const kept = withCopy(few, 'clip#1');
    expect(withCopy(again, 'clip#1').placed).toEqual(kept.placed);
    expect(withCopy(again, 'clip#1').id).toBe(kept.id);
  });

  test('failures that the ledger records move the chances: stated 3 % counts like 30 starts', () => {
    const entry = { version: 1, at: '2026-06-01T10:00:00Z', printerId: 'first', copyIds: [] };
    const lines = [
      { ...entry, what: 'failed', layer: 2 },
      { ...entry, what: 'failed', layer: 3 },
      { ...entry, what: 'done', durationS: 36000 },
    ];
    writeFileSync(join(root, 'ledger.jsonl'), lines.map((line) => `${JSON.stringify(line)}\n`).join(''));
    const { printers, assumed } = plan('--with-support');
    const [first, second] = printers;
    expect(first!.failPerStart).toBeCloseTo((0.03 * 30 + 2) / (30 + 3), 12);
    expect(first!.failPerHour).toBeCloseTo((0.005 * 200 + 0) / (200 + 10), 12);
    expect(second!.failPerStart).toBe(0.03);
    expect(assumed.join(' ')).toMatch(/first: failures taken as 8\.8 % a start .* 3 recorded runs \(2 failed\)/);
  });

  test('support comes as an object of its own and as STL that fills the room under the table', () => {
    const folder = join(root, 'reports/plates');
    const [name] = readdirSync(folder).filter((file) => file.endsWith('table.support.stl'));
    const { mesh } = readStl(bytesSource(name!, readFileSync(join(folder, name!))));
    // 46 × 20 mm wide, 20 mm high, less a layer's gap above and 0.3 mm to each leg.
    const mm3 = massProperties(mesh).volumeMm3;
    expect(mm3).toBeGreaterThan(0.9 * 46 * 20 * 20);
    expect(mm3).toBeLessThan(46 * 20 * 20);
    const plates = readdirSync(folder).filter((file) => file.endsWith('.build.3mf'));
    const models = plates.map((file) => strFromU8(unzipSync(readFileSync(join(folder, file)))['3D/3dmodel.model']!));
    expect(models.filter((xml) => xml.includes('type="support" name="support of table"')).length).toBe(1);
  });

  test('sheets, contact sheet and pictures lie beside the page', () => {
    const reports = join(root, 'reports');
    const sheets = readFileSync(join(reports, 'sheets.html'), 'utf8');
    expect(sheets).toMatch(/after layer 14, at 4 mm: [^<]*into table/); // 0.3 mm layers: 14 reach 4 mm
    expect(sheets).toContain('sand the top (20 min)');
    expect(existsSync(join(reports, 'contact-sheet.svg'))).toBe(true);
    const pictures = readdirSync(join(reports, 'plates')).filter((file) => /\.plate\.(svg|png)$/.test(file));
    expect(pictures.length % 2).toBe(0);
    expect(pictures.length).toBeGreaterThan(0);
  });

  test('an aim that there is not is refused with the two that there are', () => {
    const { code, err } = stonehand(['plan', root, '--plates', 'emptiest']);
    expect(code).toBe(2);
    expect(err).toContain('--plates emptiest: there is no such aim');
  });
});
