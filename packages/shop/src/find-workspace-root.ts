import { access } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';

export const WORKSPACE_FILE = 'stonehand.yaml';

/** The nearest folder at or above `start` that holds a stonehand.yaml. */
export async function findWorkspaceRoot(start: string): Promise<string | undefined> {
  for (let folder = resolve(start); ; folder = dirname(folder)) {
    const found = await access(join(folder, WORKSPACE_FILE)).then(
      () => true,
      () => false,
    );
    if (found) return folder;
    if (dirname(folder) === folder) return undefined;
  }
}
