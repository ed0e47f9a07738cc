import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const ROOT: string = join(import.meta.dirname, '../..');
export const COMMAND: string = join(ROOT, 'packages/cli/dist/main.js');
/** Reference data beside the project; tests that need it skip where it is absent. */
export const SHARED_DATA: string = join(ROOT, '../shared/data');

export type Ran = Readonly<{ code: number; out: string; err: string }>;

/** Runs the built command as a user would, with a cache of its own. */
export function stonehand(
  args: readonly string[],
  { cwd = ROOT, cache = CACHE }: { cwd?: string; cache?: string } = {},
): Ran {
  const { status, stdout, stderr } = spawnSync(process.execPath, [COMMAND, ...args], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, XDG_CACHE_HOME: cache, NO_COLOR: '1' },
    maxBuffer: 1 << 28,
  });
  return { code: status ?? -1, out: stdout, err: stderr };
}

const CACHE = freshFolder('cache');

/** An empty folder outside the project. */
export function freshFolder(what: string): string {
  return mkdtempSync(join(tmpdir(), `stonehand-${what}-`));
}
