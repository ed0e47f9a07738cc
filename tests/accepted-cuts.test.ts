import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { writeStl } from '@stonehand/mesh';
import { loadWorkspace } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { box } from '../packages/split/test/solids.ts';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

/** A bar longer than the built-in printer's bed, in a workspace of its own. */
function workspace(): string {
  const root = freshFolder('accepted');
  mkdirSync(join(root, 'shop'));
  writeFileSync(join(root, 'mast.stl'), writeStl(box([40, 40, 480]), 'mast'));
  writeFileSync(join(root, 'stonehand.yaml'), 'name: Mast\ntimeZone: Europe/Berlin\nseed: 3\nassemblies: [.]\n');
  writeFileSync(join(root, 'assembly.yaml'), 'name: Mast\nparts:\n  mast:\n    mesh: mast.stl\n    unit: mm\n');
  return root;
}

describe('accepted cuts', () => {
  test('stay to the bit whatever is searched, accepted or planned later, until a new search is accepted', async () => {
    const root = workspace();
    const run = (...args: string[]): ReturnType<typeof stonehand> => stonehand(args, { cwd: root });
    const first = JSON.parse(run('split', 'mast', '--cut', '0.1,0.2,0.97=231.3', '--json').out);
    expect(first.planes.length).toBeGreaterThan(0);
    expect(run('accept', 'mast').code).toBe(0);
    const accepted = readFileSync(join(root, 'accepted.yaml'));
    const kept = (await loadWorkspace(root)).accepted.cuts['mast']!;
    expect(kept.map(({ normal, offsetMm }) => [...normal, offsetMm])).toEqual(
      first.planes.map((plane: { normal: number[]; offsetMm: number }) => [...plane.normal, plane.offsetMm]),
    );
    // Another seed and another rule for support are other weights in the search.
    writeFileSync(join(root, 'stonehand.yaml'), 'name: Mast\ntimeZone: Europe/Berlin\nseed: 99\nassemblies: [.]\n');
    writeFileSync(join(root, 'shop', 'recipes.yaml'), 'standard:\n  support: 40 %\n  overhang: 30\n');
    const again = JSON.parse(run('split', 'mast', '--json').out);
    expect(again.accepted).toBe(true);
    expect(again.planes).toEqual(first.planes);
    expect(run('split', 'mast', '--pieces', '4').code).toBe(2);
    expect(run('accept', 'mast').code).toBe(0);
    expect(readFileSync(join(root, 'accepted.yaml')).equals(accepted)).toBe(true);
    const anew = JSON.parse(run('split', 'mast', '--anew', '--pieces', '4', '--json').out);
    expect(anew.pieces).toHaveLength(4);
    expect(readFileSync(join(root, 'accepted.yaml')).equals(accepted)).toBe(true);
    expect(run('accept', 'mast').out).toContain('3 cuts, as split proposed');
    expect(readFileSync(join(root, 'accepted.yaml')).equals(accepted)).toBe(false);
  }, 300_000);
});
