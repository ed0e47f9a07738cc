import { KERNEL_MODULE } from './generated/kernel-module.ts';

/** The compiled loops of kernel/*.ts over their own memory; cut-planes.ts is their plain twin, equal to the bit. */
export type Kernel = Readonly<{
  memory: Memory;
  rangeSingle: RangeLoop;
  rangeDouble: RangeLoop;
  levelsSingle: LevelLoop;
  levelsDouble: LevelLoop;
  spans(
    triangles: number,
    twins: number,
    from: number,
    to: number,
    levels: number,
    starts: number,
    change: number,
    before: number,
  ): number;
  walkSingle: WalkLoop;
  walkDouble: WalkLoop;
}>;

type RangeLoop = (points: number, triangles: number, from: number, to: number, range: number) => void;
type LevelLoop = (
  points: number,
  from: number,
  to: number,
  planes: number,
  planeCount: number,
  guess: number,
  bins: number,
  binsPerMm: number,
  levels: number,
) => void;
type WalkLoop = (
  points: number,
  triangles: number,
  twins: number,
  from: number,
  to: number,
  planes: number,
  starts: number,
  seen: number,
  next: number,
  ends: number,
  chains: number,
) => number;

// The library of Node's types leaves this to the browser's.
declare const WebAssembly: Readonly<{
  validate(bytes: Uint8Array): boolean;
  Module: new (bytes: Uint8Array) => object;
  Instance: new (module: object) => Readonly<{ exports: unknown }>;
}>;

type Memory = Readonly<{ buffer: ArrayBuffer; grow(pages: number): number }>;

const PAGE_BYTES = 65536;
const MOST_BYTES = 65535 * PAGE_BYTES;

/** Where callers may lay out their arrays; what lies below is the kernel's. */
export const KERNEL_START = 1024;

// The memory of a kernel never shrinks. Held weakly, it serves all calls of one turn and is given back afterwards.
let latest: WeakRef<Kernel> | undefined;
let module: object | undefined;

/**
 * A kernel with at least so many bytes of memory, its contents left over from the last use.
 * @returns undefined where there is none, memory is short, or more than 4 GiB are asked for
 */
export function kernelWith(bytes: number): Kernel | undefined {
  const usable = bytes > MOST_BYTES ? undefined : compiled();
  if (usable === undefined) return undefined;
  try {
    const kernel = latest?.deref() ?? (new WebAssembly.Instance(usable).exports as Kernel);
    const more = Math.ceil((bytes - kernel.memory.buffer.byteLength) / PAGE_BYTES);
    if (more > 0) kernel.memory.grow(more);
    latest = new WeakRef(kernel);
    return kernel;
  } catch (error) {
    if (error instanceof RangeError) return undefined; // memory is short
    throw error;
  }
}

function compiled(): object | undefined {
  if (module !== undefined || typeof WebAssembly === 'undefined') return module;
  const bytes = Buffer.from(KERNEL_MODULE, 'base64');
  if (WebAssembly.validate(bytes)) module = new WebAssembly.Module(bytes);
  return module;
}
