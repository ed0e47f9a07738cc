import { randomUUID } from 'node:crypto';
import { open, realpath, rename, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/**
 * Writes a file whole or not at all: beside the target, flushed, then renamed over it. A link is followed, so that what it
 * points at is replaced; the mode of an existing file is kept.
 */
export async function replaceFile(path: string, bytes: Uint8Array | string): Promise<void> {
  const target = await realpath(path).catch(() => path);
  const mode = await stat(target).then(
    (found) => found.mode & 0o777,
    () => undefined,
  );
  const beside = join(dirname(target), `.${basename(target)}.${randomUUID().slice(0, 8)}.new`);
  try {
    const file = await open(beside, 'wx', mode ?? 0o666);
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(beside, target);
  } catch (cause) {
    await rm(beside, { force: true });
    throw cause;
  }
  await flushFolder(dirname(target));
}

/** Makes a new name in a folder survive a power cut; a no-op where folders cannot be opened. */
export async function flushFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => undefined);
  if (handle === undefined) return;
  await handle.sync().catch(() => undefined);
  await handle.close();
}
