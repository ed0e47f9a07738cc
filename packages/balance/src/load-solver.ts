import type { Highs } from 'highs';

/** A linear program over columns from 0 (or `lower`) upwards; rows at most `most`, at least `least`. */
export type Program = Readonly<{
  cost: readonly number[];
  lower?: readonly number[];
  upper: readonly number[];
  /** columns that take whole numbers only */
  whole: readonly boolean[];
  rows: readonly ProgramRow[];
}>;

export type ProgramRow = Readonly<{
  columns: readonly number[];
  factors: readonly number[];
  least?: number;
  most?: number;
}>;

/** gap: how far the value may be from the proven bound, as a share of the value; 0 when nothing better exists. */
export type Solved =
  | Readonly<{ found: true; x: Float64Array; value: number; bound: number; gap: number; ended: 'proven' | 'time' }>
  | Readonly<{ found: false; why: 'impossible' | 'time' }>;

export type SolveOptions = Readonly<{
  /** stop when the proven bound is this near, as a share; default 0: the best there is */
  gap?: number;
  /** stop early, marked */
  limitS?: number;
}>;

export type Solver = (program: Program, options?: SolveOptions) => Solved;

const OPTIMAL = 7;
const IMPOSSIBLE: ReadonlySet<number> = new Set([8, 9]);
const OUT_OF_TIME = 13;
/** Rows are scaled to about 1 by their makers, so this is a share of a limit. */
const TOLERANCE = 1e-9;

/**
 * The exact solver for linear programs with whole numbers: HiGHS (Huangfu & Hall 2018, "Parallelizing the dual revised simplex
 * method", Math. Prog. Comp. 10) in WebAssembly, loaded on first use. Single-threaded and deterministic.
 */
export async function loadSolver(): Promise<Solver> {
  // Its types are written for CommonJS, where the loader is the module itself.
  const loaded: Readonly<{ default: unknown }> = await import('highs');
  const highs = await (loaded.default as () => Promise<Highs>)();
  return (program, options) => solve(highs, program, options);
}

function solve(highs: Highs, program: Program, { gap = 0, limitS }: SolveOptions = {}): Solved {
  const { cost, lower, upper, whole, rows } = program;
  const infinity = highs.infinity;
  const starts = [0];
  const indices: number[] = [];
  const values: number[] = [];
  for (const { columns, factors } of rows) {
    for (let k = 0; k < columns.length; k++) {
      if (factors[k] === 0) continue;
      indices.push(columns[k]);
      values.push(factors[k]);
    }
    starts.push(indices.length);
  }
  const model = highs.createModel({
    numCols: cost.length,
    numRows: rows.length,
    colCost: cost,
    colLower: lower ?? cost.map(() => 0),
    colUpper: upper.map((u) => (Number.isFinite(u) ? u : infinity)),
    rowLower: rows.map(({ least }) => least ?? -infinity),
    rowUpper: rows.map(({ most }) => most ?? infinity),
    integrality: whole.map((is) => (is ? 1 : 0)),
    matrix: { format: 'csr', numRows: rows.length, numCols: cost.length, starts, indices, values },
  });
  try {
    model.options.set({
      output_flag: false,
      mip_rel_gap: gap,
      mip_abs_gap: 0,
      mip_feasibility_tolerance: TOLERANCE,
      primal_feasibility_tolerance: TOLERANCE,
      ...(limitS === undefined ? {} : { time_limit: limitS }),
    });
    const { modelStatus } = model.run();
    if (IMPOSSIBLE.has(modelStatus)) return { found: false, why: 'impossible' };
    const inTime = modelStatus === OPTIMAL;
    const hasPoint = Number(model.info.get('primal_solution_status')) === 2;
    if (!inTime && !(modelStatus === OUT_OF_TIME && hasPoint)) return { found: false, why: 'time' };
    const x = model.getSolution().colValue;
    const value = Number(model.info.get('objective_function_value'));
    const anyWhole = whole.some((is) => is);
    const bound = anyWhole ? Number(model.info.get('mip_dual_bound')) : value;
    const proven = value === 0 ? Math.abs(bound) : Math.max(0, value - bound) / Math.abs(value);
    return { found: true, x, value, bound, gap: proven, ended: inTime ? 'proven' : 'time' };
  } finally {
    model.dispose();
  }
}
