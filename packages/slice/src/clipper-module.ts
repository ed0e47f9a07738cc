/**
 * The part of clipper2-wasm 0.4.0 (BSL-1.0) that is used here, typed by hand: the package's own declarations need
 * emscripten's globals and lie beside the path its manifest names.
 */
export interface ClipPath {
  assign(xyz: BigInt64Array): void;
  view(): BigInt64Array;
  delete(): void;
}
export interface ClipPaths {
  push_back(path: ClipPath): void;
  size(): number;
  get(index: number): ClipPath;
  delete(): void;
}
export interface ClipperModule {
  /** the clipper's memory; a new view after it has grown */
  readonly HEAPU8: Uint8Array;
  readonly Path64: new () => ClipPath;
  readonly Paths64: new () => ClipPaths;
  readonly FillRule: Readonly<Record<'EvenOdd' | 'NonZero' | 'Positive', unknown>>;
  readonly ClipType: Readonly<Record<'Intersection' | 'Union' | 'Difference', unknown>>;
  readonly JoinType: Readonly<Record<'Square' | 'Round' | 'Miter', unknown>>;
  readonly EndType: Readonly<Record<'Polygon', unknown>>;
  BooleanOp64(clipType: unknown, fillRule: unknown, subjects: ClipPaths, clips: ClipPaths): ClipPaths;
  UnionSelf64(subjects: ClipPaths, fillRule: unknown): ClipPaths;
  InflatePaths64(
    paths: ClipPaths,
    delta: number,
    join: unknown,
    end: unknown,
    mitreLimit: number,
    arcTolerance: number,
  ): ClipPaths;
  Triangulate64(paths: ClipPaths, delaunay: boolean): { result: { value: number }; solution: ClipPaths };
}

export type ClipperOptions = Readonly<{
  /** the bytes of clipper2z.wasm; without it the package reads the file that lies beside it */
  wasmBinary?: Uint8Array;
  /** read rings through the clipper's own handles, as is done where its memory does not look as expected; slower */
  readHandles?: boolean;
}>;

/** Loaded on first use only: it costs about 30 ms. */
export async function loadClipper({ wasmBinary }: ClipperOptions = {}): Promise<ClipperModule> {
  const name = 'clipper2-wasm';
  const imported: { default: unknown } = await import(name);
  // The package is CommonJS (UMD) for Node, so its export may be wrapped once more.
  const outer = imported.default as { default?: unknown };
  const factory = (outer.default ?? outer) as (options: object) => Promise<ClipperModule>;
  return factory(wasmBinary === undefined ? {} : { wasmBinary });
}
