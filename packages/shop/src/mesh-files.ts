import { readdir, realpath, stat } from 'node:fs/promises';
import { join, posix, sep } from 'node:path';
import { nearestName } from '@stonehand/base';
import { complain } from './fields.ts';
import type { ReadPart } from './read-assembly.ts';

/** Complains about meshes that are not there, are no files, or lie outside the workspace behind a link. */
export async function checkMeshFiles(root: string, parts: readonly ReadPart[]): Promise<void> {
  const realRoot = await realpath(root);
  const checks = parts.map(async (part) => ({ part, trouble: await troubleWith(root, realRoot, part.part.meshFile) }));
  // In the order of the parts, however the disk answers.
  for (const { part, trouble } of await Promise.all(checks)) {
    if (trouble !== undefined) complain(part.entry, ['mesh'], trouble.code, trouble.what, trouble.remedy);
  }
}

interface Trouble {
  readonly code: 'FILE_MISSING' | 'FILE_OUTSIDE' | 'FILE_UNREADABLE';
  readonly what: string;
  readonly remedy: string;
}

async function troubleWith(root: string, realRoot: string, file: string): Promise<Trouble | undefined> {
  const path = join(root, file);
  try {
    const [real, found] = await Promise.all([realpath(path), stat(path)]);
    if (real !== realRoot && !real.startsWith(realRoot + sep)) {
      return {
        code: 'FILE_OUTSIDE',
        what: `${file} is a link that leads outside the workspace`,
        remedy: 'Copy the mesh into the workspace.',
      };
    }
    if (found.isFile()) return undefined;
    return { code: 'FILE_UNREADABLE', what: `${file} is not a file`, remedy: 'Name a mesh file.' };
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code !== 'ENOENT') {
      return { code: 'FILE_UNREADABLE', what: `${file} cannot be read`, remedy: 'Mend the rights of the file.' };
    }
    const beside = await readdir(join(root, posix.dirname(file))).catch(() => []);
    const near = nearestName(posix.basename(file), beside);
    const remedy = near === undefined ? 'Put the mesh there, or correct its name.' : `Did you mean "${near}"?`;
    return { code: 'FILE_MISSING', what: `there is no ${file}`, remedy };
  }
}
