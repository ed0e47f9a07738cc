import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Results of stages under their keys: one small JSON file each, written beside and renamed, the oldest dropped when the cap is passed. */
export interface ResultCache {
  readonly folder: string;
  get(key: string): unknown;
  put(key: string, value: unknown): void;
  /** drops the least recently used files until the cap holds */
  prune(): void;
}

export function openResultCache(folder: string, capBytes: number): ResultCache {
  const results = join(folder, 'results');
  const fileOf = (key: string): string => join(results, key.slice(0, 2), `${key}.json`);
  let written = 0;
  return {
    folder,
    get(key) {
      const file = fileOf(key);
      try {
        const value: unknown = JSON.parse(readFileSync(file, 'utf8'));
        return value;
      } catch {
        return undefined;
      }
    },
    put(key, value) {
      const file = fileOf(key);
      mkdirSync(join(results, key.slice(0, 2)), { recursive: true });
      const beside = `${file}.${process.pid}.part`;
      writeFileSync(beside, JSON.stringify(value));
      renameSync(beside, file);
      written++;
    },
    prune() {
      // Only a run that wrote something can have passed the cap; a warm run pays nothing.
      if (written === 0) return;
      pruneFolder(folder, capBytes);
    },
  };
}

function pruneFolder(folder: string, capBytes: number): void {
  const files: { path: string; size: number; used: number }[] = [];
  for (const path of walk(folder)) {
    const facts = statSync(path, { throwIfNoEntry: false });
    if (facts !== undefined) files.push({ path, size: facts.size, used: Math.max(facts.mtimeMs, facts.atimeMs) });
  }
  let total = files.reduce((sum, file) => sum + file.size, 0);
  if (total <= capBytes) return;
  files.sort((a, b) => a.used - b.used || (a.path < b.path ? -1 : 1));
  for (const file of files) {
    if (total <= capBytes * 0.8) break;
    rmSync(file.path, { force: true });
    total -= file.size;
  }
}

function* walk(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) yield* walk(path);
    else if (entry.name !== 'index.json') yield path;
  }
}
