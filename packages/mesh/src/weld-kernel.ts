import {
  aligned,
  giveBack,
  growTo,
  KERNEL_START,
  type Kernel,
  kernelWith,
  MOST_KERNEL_BYTES,
  takeAway,
  words,
} from './kernel.ts';
import { BLOCK_TRIANGLES, GROWTH, MAX_LOAD, tableSize, VERTICES_PER_TRIANGLE } from './weld-table.ts';

/**
 * A record welder by the compiled kernel (see weld-records.ts). The kernel holds one block of records, the table and the
 * growing vertex list; triangles go to their array a block at a time, so that they are never held twice.
 */
export class KernelWelder {
  readonly triangles: Uint32Array;
  vertexCount = 0;
  private readonly kernel: Kernel;
  private readonly strideBytes: number;
  private readonly cornersAt: number;
  private tableSlots: number;
  private pointsAt: number;

  /** @returns undefined where there is no kernel, or not enough memory for it */
  static of(triangleCount: number, strideBytes: number, cornersAt: number): KernelWelder | undefined {
    // Asked for the worst case, in which no corner is shared, so that it never has to stop half-way.
    const corners = triangleCount * 3;
    if (tableAt(strideBytes) + tableSize(corners) * 4 + corners * 12 > MOST_KERNEL_BYTES) return undefined;
    const slots = tableSize(Math.max(16, triangleCount * VERTICES_PER_TRIANGLE));
    const kernel = kernelWith(tableAt(strideBytes) + slots * 4);
    if (kernel === undefined) return undefined;
    takeAway(); // between blocks, the source of the bytes may do anything
    return new KernelWelder(kernel, triangleCount, strideBytes, cornersAt, slots);
  }

  private constructor(kernel: Kernel, triangleCount: number, strideBytes: number, cornersAt: number, slots: number) {
    this.kernel = kernel;
    this.strideBytes = strideBytes;
    this.cornersAt = cornersAt;
    this.triangles = new Uint32Array(triangleCount * 3);
    this.tableSlots = slots;
    this.pointsAt = tableAt(strideBytes) + slots * 4;
    words(kernel, tableAt(strideBytes), slots).fill(0);
  }

  block(n: number): Uint8Array {
    this.makeRoom(n * 3);
    return new Uint8Array(this.kernel.memory.buffer, KERNEL_START, n * this.strideBytes);
  }

  add(n: number, first: number): number {
    const { kernel, strideBytes, vertexCount } = this;
    const at = tableAt(strideBytes);
    const found = kernel.weld(
      KERNEL_START + this.cornersAt,
      strideBytes,
      n,
      outAt(strideBytes),
      outAt(strideBytes) + BLOCK_TRIANGLES * 12,
      at,
      this.tableSlots - 1,
      this.pointsAt,
      vertexCount,
    );
    if (found < 0) return first - 1 - found;
    this.vertexCount = found;
    this.triangles.set(words(kernel, outAt(strideBytes), n * 3), first * 3);
    return -1;
  }

  /** To be called last. */
  positions(): Float32Array {
    const { kernel } = this;
    giveBack(kernel);
    return new Float32Array(kernel.memory.buffer, this.pointsAt, this.vertexCount * 3).slice();
  }

  private makeRoom(more: number): void {
    const { kernel, vertexCount } = this;
    const need = vertexCount + more;
    if (need > this.tableSlots * MAX_LOAD) this.enlargeTable(tableSize(need));
    const end = this.pointsAt + (need + 1) * 12;
    if (end > kernel.memory.buffer.byteLength)
      growTo(kernel, Math.min(this.pointsAt + Math.ceil(need * GROWTH) * 12, MOST_KERNEL_BYTES));
  }

  /** The vertex list moves up behind the larger table, which is filled anew. */
  private enlargeTable(slots: number): void {
    const { kernel, pointsAt, vertexCount } = this;
    const at = tableAt(this.strideBytes);
    this.tableSlots = slots;
    this.pointsAt = at + slots * 4;
    growTo(kernel, this.pointsAt + (vertexCount + 1) * 12);
    words(kernel, 0, kernel.memory.buffer.byteLength / 4).copyWithin(
      this.pointsAt / 4,
      pointsAt / 4,
      pointsAt / 4 + vertexCount * 3,
    );
    words(kernel, at, slots).fill(0);
    kernel.refill(this.pointsAt, vertexCount, at, slots - 1);
  }
}

// Layout: records, vertex numbers of the block, slots of a batch, table, vertex list.
function outAt(strideBytes: number): number {
  return aligned(KERNEL_START + BLOCK_TRIANGLES * strideBytes);
}

function tableAt(strideBytes: number): number {
  return outAt(strideBytes) + BLOCK_TRIANGLES * 12 + BATCH_BYTES;
}

const BATCH_BYTES = 384 * 8; // two words per corner of a batch, see kernel/weld.ts
