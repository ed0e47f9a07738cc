import { readdirSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { hashBytes } from '@stonehand/base';

/** Put in by the bundler: a hash of all built code and of the lock file. */
declare const STONEHAND_BUILD: string | undefined;
declare const STONEHAND_VERSION: string | undefined;

/** Part of every cache key: results of other code are never reused. */
export function codeVersion(): string {
  if (typeof STONEHAND_BUILD === 'string') return STONEHAND_BUILD;
  cached ??= unbundledVersion();
  return cached;
}

/** "0.1.0", for people and for `madeBy`. */
export function programVersion(): string {
  return typeof STONEHAND_VERSION === 'string' ? STONEHAND_VERSION : '0.0.0';
}

let cached: string | undefined;

// Run from the packages' dist folders (tests): sizes and times of the built files stand for their content.
function unbundledVersion(): string {
  const packages = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
  const facts: string[] = [];
  for (const name of readdirSync(packages).sort()) {
    const dist = join(packages, name, 'dist');
    let files: string[];
    try {
      files = readdirSync(dist).filter((file) => file.endsWith('.js'));
    } catch {
      continue;
    }
    for (const file of files.sort()) {
      const { size, mtimeMs } = statSync(join(dist, file));
      facts.push(`${name}/${file}:${size}:${mtimeMs}`);
    }
  }
  return `unbundled-${hashBytes(facts.join('\n'))}`;
}
