import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { replaceFile } from '@stonehand/shop';

/** Writes files and removes those of an earlier plan. Only files of the kinds written here are ever removed: a user's own file stays. */
export async function replaceFolder(folder: string, files: readonly (readonly [string, Uint8Array])[]): Promise<void> {
  mkdirSync(folder, { recursive: true });
  const names = new Set(files.map(([name]) => name));
  for (const name of readdirSync(folder)) {
    if (!names.has(name) && /\.(build\.3mf|glb|plate\.svg|plate\.png|support\.stl)$/.test(name))
      rmSync(join(folder, name));
  }
  for (const [name, bytes] of files)
    if (!sameBytes(join(folder, name), bytes)) await replaceFile(join(folder, name), bytes);
}

function sameBytes(path: string, bytes: Uint8Array): boolean {
  try {
    return readFileSync(path).equals(bytes);
  } catch {
    return false;
  }
}
