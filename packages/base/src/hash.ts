import { createHash } from 'node:crypto';
import { canonicalJson } from './canonical-json.ts';

/** SHA-256 of bytes or text, as 32 lower-case hex digits (the first half: enough to name things, short enough to read). */
export function hashBytes(...parts: readonly (Uint8Array | string)[]): string {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest('hex').slice(0, 32);
}

/** Hash of a JSON value, the same whatever the order of its keys. */
export function hashValue(value: unknown): string {
  return hashBytes(canonicalJson(value));
}
