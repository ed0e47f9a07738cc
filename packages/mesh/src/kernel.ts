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
  planesSome(points: number, triangles: number, from: number, to: number, planes: number): void;
  guardBoxes(boxes: number, from: number, to: number): void;
  startPairs(budget: number): void;
  state: Counter;
  pairsSome(
    points: number,
    triangles: number,
    planes: number,
    order: number,
    places: number,
    guarded: number,
    levels: number,
    levelCount: number,
    stack: number,
    out: number,
    room: number,
    steps: number,
  ): number;
  soupSingle: SoupLoop;
  soupDouble: SoupLoop;
  soupBounds(soup: number, from: number, to: number, bounds: number, order: number): void;
  cornersInOrder(soup: number, order: number, from: number, to: number, corners: number): void;
  nodes: Counter;
  startTree(count: number, stack: number): void;
  splitSome(
    bounds: number,
    order: number,
    boxes: number,
    link: number,
    size: number,
    stack: number,
    scratch: number,
    work: number,
  ): number;
  pairBoxes(boxes: number, from: number, to: number, pairs: number): void;
  castSome(
    pairs: number,
    link: number,
    size: number,
    order: number,
    corners: number,
    rays: number,
    count: number,
    mx: number,
    my: number,
    mz: number,
    within: number,
    unseen: number,
    distance: number,
    triangle: number,
    stack: number,
  ): void;
}>;

// The library of Node's types leaves this to the browser's.
declare const WebAssembly: Readonly<{
  validate(bytes: Uint8Array): boolean;
  Module: new (bytes: Uint8Array) => object;
  Instance: new (module: object) => Readonly<{ exports: unknown }>;
}>;

type Memory = Readonly<{ buffer: ArrayBuffer; grow(pages: number): number }>;
type Counter = Readonly<{ value: number }>;
type SoupLoop = (
  points: number,
  triangles: number,
  from: number,
  to: number,
  x: number,
  y: number,
  z: number,
  soup: number,
) => void;
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

const PAGE_BYTES = 65536;

/** Memory has addresses of 32 bits. */
export const MOST_KERNEL_BYTES: number = 65535 * PAGE_BYTES;

/** Where callers may lay out their arrays; what lies below is the kernel's. */
export const KERNEL_START = 1024;

/** Half-edges or triangles per call: a call in compiled-at-once code ends soon, and the next runs the optimised code. */
export const KERNEL_BLOCK: number = 3 * 16384;

/** Fewer triangles than this are done by plain code in less time than it takes to compile the kernel; see DECISIONS.md. */
export const KERNEL_FROM_TRIANGLES = 300;

// The memory of a kernel never shrinks. Held weakly, it serves all calls of one turn and is given back afterwards.
let latest: WeakRef<Kernel> | undefined;
let module: object | undefined;

/** Whether the compiled kernel can run here: not on a processor without vector instructions. The results do not depend on it. */
export function hasKernel(): boolean {
  return compiled() !== undefined;
}

/**
 * A kernel with at least so many bytes of memory, its contents left over from the last use. Others may use it as soon as the
 * caller hands over to code that it does not know; who needs it longer takes it away.
 * @returns undefined where there is none, memory is short, or more than 4 GiB are asked for
 */
export function kernelWith(bytes: number): Kernel | undefined {
  const usable = bytes > MOST_KERNEL_BYTES ? undefined : compiled();
  if (usable === undefined) return undefined;
  try {
    const kernel = latest?.deref() ?? (new WebAssembly.Instance(usable).exports as Kernel);
    growTo(kernel, bytes);
    latest = new WeakRef(kernel);
    return kernel;
  } catch (error) {
    if (error instanceof RangeError) return undefined; // memory is short
    throw error;
  }
}

/** Keeps others from using the kernel until it is returned. */
export function takeAway(): void {
  latest = undefined;
}

export function giveBack(kernel: Kernel): void {
  latest = new WeakRef(kernel);
}

function compiled(): object | undefined {
  if (module !== undefined || typeof WebAssembly === 'undefined') return module;
  const bytes = Buffer.from(KERNEL_MODULE, 'base64');
  if (WebAssembly.validate(bytes)) module = new WebAssembly.Module(bytes);
  return module;
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
