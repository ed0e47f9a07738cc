import type { ProgramRow, SolveOptions, Solver } from './load-solver.ts';
import { atMostZero, type Cone, type Form, SLACK, solveWithCones } from './solve-with-cones.ts';

/** One of the choices of every group is to be taken. Columns are numbered through the groups in their order. */
export type ChoiceProblem = Readonly<{
  /** how many choices each group has, at least one */
  sizes: readonly number[];
  /** by column */
  cost: readonly number[];
  rows: readonly ChoiceRow[];
  cones?: readonly ChoiceCone[];
}>;

/** Σ factors of the columns taken + constant must be at most 0. */
export type ChoiceRow = Readonly<{ factors: readonly number[]; constant: number }>;

/** The length of the vector `across` must be at most `reach`; all of them linear in the choices. */
export type ChoiceCone = Readonly<{ across: readonly ChoiceRow[]; reach: ChoiceRow }>;

export type Chosen = Readonly<{
  /** by group, the number of its choice */
  picks: readonly number[];
  cost: number;
  /** proven: no choice costs less by more than this share */
  gap: number;
  ended: 'proven' | 'time';
  /** how far rows are passed, as shares of their largest number, summed; 0 unless `elastic` was asked for and needed */
  excess: number;
}>;

export type ChooseOptions = SolveOptions &
  Readonly<{
    /** let rows be passed, as little as can be, when they cannot all hold */
    elastic?: boolean;
  }>;

/**
 * The choices of least cost that keep every row and cone, exactly: a program of whole numbers.
 * @returns undefined when nothing keeps them all (or nothing was found in time)
 */
export function choose(problem: ChoiceProblem, solver: Solver, options: ChooseOptions = {}): Chosen | undefined {
  const { elastic = false, ...solving } = options;
  const strict = solve(problem, solver, solving);
  if (strict !== undefined || !elastic) return strict;
  const least = solve(problem, solver, solving, { price: 1 });
  if (least === undefined) return undefined;
  // Of all that pass the rows so little, the one that costs least.
  return solve(problem, solver, solving, { price: 0, most: least.excess * (1 + SLACK) + SLACK }) ?? least;
}

/** What rows are passed by is bought at a price, up to `most` in all. */
type Elastic = Readonly<{ price: number; most?: number }>;

function solve(problem: ChoiceProblem, solver: Solver, solving: SolveOptions, elastic?: Elastic): Chosen | undefined {
  const { sizes, rows, cones = [] } = problem;
  // Buying the way out costs nothing but the way out.
  const cost = elastic?.price === 1 ? problem.cost.map(() => 0) : problem.cost;
  const columns = cost.length;
  const all: ProgramRow[] = [];
  let at = 0;
  for (const size of sizes) {
    const mine = Array.from({ length: size }, (_, k) => at + k);
    all.push({ columns: mine, factors: mine.map(() => 1), least: 1, most: 1 });
    at += size;
  }
  const spare = elastic === undefined ? 0 : rows.length + cones.length;
  const spares = Array.from({ length: spare }, (_, k) => columns + k);
  rows.forEach((row, r) => {
    const scaled = atMostZero(formOf(row));
    all.push(spare === 0 ? scaled : withSpare(scaled, columns + r));
  });
  if (elastic?.most !== undefined) all.push({ columns: spares, factors: spares.map(() => 1), most: elastic.most });
  const bent = cones.map((cone, c): Cone => {
    const reach = formOf(cone.reach);
    const size = Math.max(Math.abs(reach.constant), ...reach.factors.map(Math.abs));
    const wider =
      spare === 0 ? reach : { ...withSpare(reach, columns + rows.length + c, size), constant: reach.constant };
    return { across: cone.across.map(formOf), reach: wider };
  });
  const solved = solveWithCones(
    {
      cost: [...cost, ...spares.map(() => elastic?.price ?? 0)],
      upper: [...cost.map(() => 1), ...spares.map(() => Number.POSITIVE_INFINITY)],
      whole: [...cost.map(() => true), ...spares.map(() => false)],
      rows: all,
    },
    bent,
    solver,
    solving,
  );
  if (!solved.found) return undefined;
  const { x, gap, ended } = solved;
  const picks: number[] = [];
  let paid = 0;
  at = 0;
  for (const size of sizes) {
    let best = 0;
    for (let k = 1; k < size; k++) if (x[at + k] > x[at + best]) best = k;
    picks.push(best);
    paid += problem.cost[at + best];
    at += size;
  }
  return { picks, cost: paid, gap, ended, excess: spares.reduce((sum, k) => sum + x[k], 0) };
}

function formOf({ factors, constant }: ChoiceRow): Form {
  const columns: number[] = [];
  const used: number[] = [];
  factors.forEach((factor, k) => {
    if (factor === 0) return;
    columns.push(k);
    used.push(factor);
  });
  return { columns, factors: used, constant };
}

function withSpare<T extends Readonly<{ columns: readonly number[]; factors: readonly number[] }>>(
  row: T,
  column: number,
  size = -1,
): T {
  return { ...row, columns: [...row.columns, column], factors: [...row.factors, size] };
}
