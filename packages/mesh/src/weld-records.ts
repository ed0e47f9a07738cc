import { KERNEL_FROM_TRIANGLES, type KernelOption } from './kernel.ts';
import { KernelWelder } from './weld-kernel.ts';
import { BLOCK_TRIANGLES, Welder32 } from './weld-table.ts';

/** Welds triangles that come as records of nine single-precision numbers among other bytes, a block at a time. */
export type RecordWelder = Readonly<{
  triangles: Uint32Array;
  /** where the bytes of the next n records go, n up to BLOCK_TRIANGLES; taken anew for each block */
  block(n: number): Uint8Array;
  /** adds the n records of the block as triangles from index `first` on; returns the first with a NaN or infinite coordinate, or −1 */
  add(n: number, first: number): number;
  /** to be called last */
  positions(): Float32Array;
}>;

/**
 * @param strideBytes length of a record, even
 * @param cornersAt place of the first corner in a record, a multiple of 4
 */
export function recordWelder(
  count: number,
  strideBytes: number,
  cornersAt: number,
  { kernel = count >= KERNEL_FROM_TRIANGLES }: KernelOption = {},
): RecordWelder {
  return (
    (kernel ? KernelWelder.of(count, strideBytes, cornersAt) : undefined) ??
    new PlainRecordWelder(count, strideBytes, cornersAt)
  );
}

class PlainRecordWelder {
  private readonly welder: Welder32;
  private readonly strideBytes: number;
  private readonly cornersAt: number;
  // The same block twice, the second copied two bytes later: each record of even length is 4-byte aligned in one of the two.
  private readonly even: Uint8Array;
  private readonly odd: Uint8Array;

  constructor(count: number, strideBytes: number, cornersAt: number) {
    this.welder = new Welder32(count);
    this.strideBytes = strideBytes;
    this.cornersAt = cornersAt;
    const blockBytes = Math.min(count, BLOCK_TRIANGLES) * strideBytes;
    this.even = new Uint8Array(blockBytes + 8 - (blockBytes % 4));
    this.odd = new Uint8Array(this.even.length);
  }

  get triangles(): Uint32Array {
    return this.welder.triangles;
  }

  block(n: number): Uint8Array {
    return this.even.subarray(0, n * this.strideBytes);
  }

  add(n: number, first: number): number {
    const { even, odd, strideBytes } = this;
    odd.set(this.block(n), 2);
    const [evenWords, oddWords] = [new Uint32Array(even.buffer), new Uint32Array(odd.buffer)];
    return this.welder.add(evenWords, oddWords, this.cornersAt / 4, strideBytes / 2, n, first);
  }

  positions(): Float32Array {
    return this.welder.positions();
  }
}
