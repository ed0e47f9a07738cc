import { createHash } from 'node:crypto';
import { readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { replaceFile } from '@stonehand/shop';
import { withFile } from './file-source.ts';

interface Entry {
  readonly size: number;
  readonly mtimeMs: number;
  readonly hash: string;
}

/** Remembers path + size + time of change → content hash, so that a warm run reads no mesh at all. */
export interface ContentIndex {
  /** @throws StonehandError FILE_MISSING, FILE_UNREADABLE */
  hashOf(path: string, name: string): Promise<string>;
  save(): Promise<void>;
}

const BLOCK = 1 << 20;
// A second of hashing, about.
const LARGE = 1 << 28;
const TOLD_EVERY = 1 << 24;

/** @param onShare told how far a large file has been read, 0 to 1 */
export function openContentIndex(folder: string, onShare?: (share: number) => void): ContentIndex {
  const file = join(folder, 'index.json');
  const entries = new Map<string, Entry>(Object.entries(readEntries(file)));
  let changed = false;
  return {
    async hashOf(path, name) {
      const facts = statSync(path, { throwIfNoEntry: false });
      const known = entries.get(path);
      if (facts !== undefined && known !== undefined && known.size === facts.size && known.mtimeMs === facts.mtimeMs)
        return known.hash;
      const hash = await withFile(path, name, (source) => {
        const sha = createHash('sha256');
        const block = new Uint8Array(BLOCK);
        for (let at = 0; at < source.sizeBytes; ) {
          const n = source.read(block, at);
          if (n === 0) break;
          sha.update(block.subarray(0, n));
          at += n;
          if (source.sizeBytes >= LARGE && at % TOLD_EVERY < n) onShare?.(at / source.sizeBytes);
        }
        return sha.digest('hex').slice(0, 32);
      });
      // A file changed within the last two seconds may change again within the clock's grain: do not trust its time yet.
      if (facts !== undefined && Date.now() - facts.mtimeMs > 2000) {
        entries.set(path, { size: facts.size, mtimeMs: facts.mtimeMs, hash });
        changed = true;
      }
      return hash;
    },
    async save() {
      if (!changed) return;
      await replaceFile(file, JSON.stringify(Object.fromEntries(entries)));
      changed = false;
    },
  };
}

// The index only saves time: a damaged one is the same as none.
function readEntries(file: string): Record<string, Entry> {
  try {
    const value: unknown = JSON.parse(readFileSync(file, 'utf8'));
    return typeof value === 'object' && value !== null ? (value as Record<string, Entry>) : {};
  } catch {
    return {};
  }
}
