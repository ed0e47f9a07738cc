import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { onTestFinished } from 'vitest';

/** A folder with these files (path to text), removed when the test ends. */
export async function folderWith(files: Readonly<Record<string, string>>): Promise<string> {
  const root = await mkdtemp(join(tmpdir(), 'stonehand-shop-'));
  onTestFinished(() => rm(root, { recursive: true, force: true }));
  for (const [file, text] of Object.entries(files)) {
    await mkdir(dirname(join(root, file)), { recursive: true });
    await writeFile(join(root, file), text);
  }
  return root;
}

/** The least that is a workspace: one assembly of one part. */
export const SMALL: Readonly<Record<string, string>> = {
  'stonehand.yaml': 'name: Lantern\ntimeZone: Europe/Berlin\n',
  'shop/printers.yaml': 'bench:\n  volume: 220 x 220 x 250\n',
  'shop/materials.yaml': 'white-abs:\n  kind: ABS\n  colour: white\ngrey-petg:\n  kind: PETG\n  colour: grey\n',
  'shop/recipes.yaml': 'shell:\n  perimeters: 3\n',
  'shop/hours.yaml': 'week:\n  mon-sun: 08:00-22:00 present, 22:00-08:00 asleep\n',
  'lantern/assembly.yaml': 'parts:\n  frame:\n    mesh: frame.stl\n    quantity: 2\n  lid:\n    mesh: lid.stl\n',
  'lantern/frame.stl': '',
  'lantern/lid.stl': '',
};
