import type { ByteSource } from './byte-source.ts';

/** Pieces of bytes kept one after the other, readable as one source without ever being copied into one array. */
export async function chunkedSource(name: string, pieces: AsyncIterable<Uint8Array>): Promise<ByteSource> {
  const chunks: Uint8Array[] = [];
  const starts: number[] = [];
  let sizeBytes = 0;
  for await (const piece of pieces) {
    if (piece.length === 0) continue;
    chunks.push(piece);
    starts.push(sizeBytes);
    sizeBytes += piece.length;
  }
  let last = 0; // readers go forward, so the next piece is nearly always this one or its neighbour
  return {
    name,
    sizeBytes,
    read(into, at) {
      if (at < 0 || at >= sizeBytes) return 0;
      if (starts[last] > at) last = 0;
      while (last + 1 < starts.length && starts[last + 1] <= at) last++;
      const from = at - starts[last];
      const part = chunks[last].subarray(from, from + into.length);
      into.set(part);
      return part.length;
    },
  };
}

/** The source in blocks, one after the other. */
export function* blocksOf(source: ByteSource): Iterable<Uint8Array> {
  for (let at = 0; at < source.sizeBytes; ) {
    const block = new Uint8Array(Math.min(BLOCK_BYTES, source.sizeBytes - at));
    const got = source.read(block, at);
    if (got <= 0) return;
    yield block.subarray(0, got);
    at += got;
  }
}

const BLOCK_BYTES = 1 << 17;
