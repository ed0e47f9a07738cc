import { mkdirSync } from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { type Engine, loadMesh } from '@stonehand/engine';
import { repairMesh, writeStl } from '@stonehand/mesh';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from './file-name.ts';

/**
 * Writes a mended copy of each file as binary STL into a folder, in the file's own numbers; what was done and what is left to do
 * comes back as lines. A sound mesh is written as it is.
 */
export async function writeRepaired(engine: Engine, files: readonly string[], out: string): Promise<string[]> {
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true });
  const lines: string[] = [];
  for (const file of files) {
    const path = resolve(file);
    const contentHash = await engine.content.hashOf(path, file);
    const { file: read } = await loadMesh({ name: file, path, contentHash, scale: 1 }, engine.cacheFolder);
    const { mesh, steps, left } = await repairMesh(read.mesh);
    const name = `${fileNameOf(
      basename(file)
        .replace(/(\.gz)?$/i, '')
        .replace(/\.[^.]+$/, ''),
    )}.stl`;
    await replaceFile(join(folder, name), writeStl(mesh, name));
    lines.push(
      `${file}: ${steps.length === 0 ? 'nothing to mend' : steps.map(({ says }) => says).join(' ')} Written to ${join(out, name)}.`,
    );
    for (const sentence of left) lines.push(`  ${sentence}`);
  }
  return lines;
}
