import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { StonehandError } from '@stonehand/base';
import type { ByteSource } from '@stonehand/mesh';

/**
 * Opens a file for reading at any place, hands it over, closes it again.
 * @throws StonehandError FILE_MISSING, FILE_UNREADABLE
 */
export async function withFile<T>(path: string, name: string, use: (source: ByteSource) => T | Promise<T>): Promise<T> {
  const fd = open(path, name);
  try {
    const sizeBytes = fstatSync(fd).size;
    return await use({ name, sizeBytes, read: (into, at) => readSync(fd, into, 0, into.length, at) });
  } finally {
    closeSync(fd);
  }
}

function open(path: string, name: string): number {
  try {
    const fd = openSync(path, 'r');
    if (fstatSync(fd).isDirectory()) {
      closeSync(fd);
      throw new StonehandError(
        'FILE_UNREADABLE',
        `${name}: is a folder, not a mesh file`,
        'Name a file in it, or use a command that takes folders.',
      );
    }
    return fd;
  } catch (error) {
    if (error instanceof StonehandError) throw error;
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new StonehandError(
        'FILE_MISSING',
        `${name}: there is no such file`,
        'Check the name; paths are relative to where the command runs or to the workspace.',
        { cause: error },
      );
    }
    throw new StonehandError(
      'FILE_UNREADABLE',
      `${name}: cannot be opened (${code ?? 'unknown reason'})`,
      'Check the permissions of the file.',
      { cause: error },
    );
  }
}
