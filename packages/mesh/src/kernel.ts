import { KERNEL_MODULE } from './generated/kernel-module.ts';

/**
 * The compiled loops of kernel/*.ts over their own memory. Every loop has a plain TypeScript twin that gives the same result to
 * the bit; see DECISIONS.md "A compiled kernel for large meshes".
 */
export type Kernel = Readonly<{
  memory: Memory;
  weld(
    records: number,
    stride: number,
    n: number,
    out: number,
    slots: number,
    table: number,
    mask: number,
    points: number,
    vertexCount: number,
  ): number;
  refill(points: number, vertexCount: number, table: number, mask: number): void;
  startEdges(heads: number, vertexCount: number): void;
  enterEdges(triangles: number, links: number, heads: number, from: number, to: number): void;
  settleEdges(triangles: number, links: number, from: number, to: number, fans: number): number;
  steps: Counter;
  edges: Counter;
  collapsed: Counter;
  firstCollapsed: Counter;
  boundary: Counter;
  firstBoundary: Counter;
  duplicates: Counter;
  firstDuplicate: Counter;
  startBodies(parents: number, vertexCount: number): void;
  joinBodies(triangles: number, parents: number, from: number, to: number): void;
  usedVertices: Counter;
  components: Counter;
  markUsed(triangles: number, from: number, to: number, used: number): void;
  boxSingle: BoxLoop;
  boxDouble: BoxLoop;
  massSingle: MassLoop;
  massDouble: MassLoop;
}>;

// The library of Node's types leaves this to the browser's.
declare const WebAssembly: Readonly<{
  Module: new (bytes: Uint8Array) => object;
  Instance: new (module: object) => Readonly<{ exports: unknown }>;
}>;

type Memory = Readonly<{ buffer: ArrayBuffer; grow(pages: number): number }>;
type Counter = Readonly<{ value: number }>;
type BoxLoop = (points: number, used: number, from: number, to: number, box: number) => void;
type MassLoop = (
  points: number,
  triangles: number,
  from: number,
  to: number,
  ox: number,
  oy: number,
  oz: number,
  sums: number,
) => void;

export type KernelOption = Readonly<{
  /** whether the compiled kernel does it, where it can; by default for large meshes. The result is the same to the bit. */
  kernel?: boolean;
}>;

/** Where callers may lay out their arrays; what lies below is the kernel's. */
export const KERNEL_START = 1024;

/** Half-edges or triangles per call: a call in compiled-at-once code ends soon, and the next runs the optimised code. */
export const KERNEL_BLOCK: number = 3 * 16384;

/** Fewer triangles than this are done sooner by plain code than the kernel is compiled; see DECISIONS.md. */
export const KERNEL_FROM_TRIANGLES = 20_000;

// The memory of a kernel never shrinks. Held weakly, it serves all calls of one turn and is given back afterwards.
let latest: WeakRef<Kernel> | undefined;
let module: object | undefined;

/**
 * A kernel with at least so many bytes of memory, its contents left over from the last use.
 * @returns undefined where memory is short, more than 4 GiB are asked for, or the engine has no WebAssembly
 */
export function kernelWith(bytes: number): Kernel | undefined {
  if (bytes > MOST_BYTES || typeof WebAssembly === 'undefined') return undefined;
  try {
    let kernel = latest?.deref();
    if (kernel === undefined) {
      module ??= new WebAssembly.Module(Buffer.from(KERNEL_MODULE, 'base64'));
      kernel = new WebAssembly.Instance(module).exports as Kernel;
      latest = new WeakRef(kernel);
    }
    growTo(kernel, bytes);
    return kernel;
  } catch (error) {
    if (error instanceof RangeError) return undefined; // memory is short
    throw error;
  }
}

/** Makes room; views on the memory must be taken anew afterwards. */
export function growTo({ memory }: Kernel, bytes: number): void {
  const more = Math.ceil((bytes - memory.buffer.byteLength) / PAGE_BYTES);
  if (more > 0) memory.grow(more);
}

export function words({ memory }: Kernel, at: number, length: number): Uint32Array {
  return new Uint32Array(memory.buffer, at, length);
}

/** The next place where arrays of any type may start. */
export function aligned(at: number): number {
  return Math.ceil(at / 16) * 16;
}

const PAGE_BYTES = 65536;
const MOST_BYTES = 65535 * PAGE_BYTES;
