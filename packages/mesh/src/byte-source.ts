import { StonehandError } from '@stonehand/base';

/** Where bytes come from: a file, an archive's entry, memory. Synchronous, so that readers stay plain loops. */
export type ByteSource = Readonly<{
  /** shown in messages */
  name: string;
  sizeBytes: number;
  /** fills `into` from byte `at` on; returns how many bytes it gave, 0 at the end */
  read(into: Uint8Array, at: number): number;
}>;

/** A source over bytes that are already in memory (not copied). */
export function bytesSource(name: string, bytes: Uint8Array): ByteSource {
  return {
    name,
    sizeBytes: bytes.length,
    read(into, at) {
      const part = bytes.subarray(at, at + into.length);
      into.set(part);
      return part.length;
    },
  };
}

/**
 * Reads until `into` is full or the source ends, however small the pieces are in which it gives its bytes.
 * @returns the number of bytes read
 */
export function readFully(source: ByteSource, into: Uint8Array, at: number): number {
  let filled = 0;
  while (filled < into.length) {
    const got = source.read(filled === 0 ? into : into.subarray(filled), at + filled);
    if (got <= 0) break;
    filled += got;
  }
  return filled;
}

/** The length of the UTF-8 byte order mark that some programs put before a text: 3, or 0 without one. */
export function byteOrderMark(source: ByteSource): number {
  const mark = new Uint8Array(3);
  return readFully(source, mark, 0) === 3 && mark[0] === 0xef && mark[1] === 0xbb && mark[2] === 0xbf ? 3 : 0;
}

/**
 * The whole source in one array; for formats that cannot be streamed.
 * @throws StonehandError MESH_TOO_LARGE above 2 GiB
 */
export function readAll(source: ByteSource): Uint8Array<ArrayBuffer> {
  if (source.sizeBytes > MAX_WHOLE_BYTES) {
    throw new StonehandError(
      'MESH_TOO_LARGE',
      `${source.name}: ${source.sizeBytes} bytes are more than can be held at once`,
      'Export it as binary STL or PLY, which are read in blocks, or split it.',
    );
  }
  const bytes = new Uint8Array(source.sizeBytes);
  const got = readFully(source, bytes, 0);
  return got === bytes.length ? bytes : bytes.subarray(0, got);
}

const MAX_WHOLE_BYTES = 2 ** 31; // offsets in the readers stay exact 32-bit numbers
