import type { Program, Solved, SolveOptions, Solver } from './load-solver.ts';

/** Σ factors · columns + constant. */
export type Form = Readonly<{ columns: readonly number[]; factors: readonly number[]; constant: number }>;

/** The length of the vector `across` must be at most `reach`. */
export type Cone = Readonly<{ across: readonly Form[]; reach: Form }>;

/** A form is held at 0 to this share of its largest number; the solver's own tolerance is 1e-9. */
export const SLACK = 1e-7;
/** With whole numbers each cut shuts out a solution for good; with others the last ones lie within SLACK after a few. */
const MOST_ROUNDS = 200;

/**
 * A program with distances in it. A cone is cut to size by planes that touch it, added where a solution passes it: each one
 * shuts out that solution and none that is allowed (Kelley 1960, "The cutting-plane method", from memory).
 */
export function solveWithCones(
  program: Program,
  cones: readonly Cone[],
  solver: Solver,
  options: SolveOptions,
): Solved {
  const cuts = cones.flatMap(firstCuts);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const rows = [...program.rows, ...cuts.map(atMostZero)];
    const solved = solver({ ...program, rows }, options);
    if (!solved.found) return solved;
    const passed = cones.flatMap((cone) => cutAt(cone, solved.x));
    if (passed.length === 0) return solved;
    cuts.push(...passed);
  }
  return { found: false, why: 'time' };
}

/** Form ≤ 0 as a row of a program, scaled so that its largest number is 1. */
export function atMostZero({ columns, factors, constant }: Form): Program['rows'][number] {
  const scale = scaleOf(factors, constant);
  return { columns, factors: factors.map((f) => f / scale), most: -constant / scale };
}

function scaleOf(factors: readonly number[], constant: number): number {
  let most = Math.abs(constant);
  for (const f of factors) most = Math.max(most, Math.abs(f));
  return most === 0 ? 1 : most;
}

const R = Math.SQRT1_2;
const OCTAGON: readonly (readonly number[])[] = [
  [1, 0],
  [R, R],
  [0, 1],
  [-R, R],
  [-1, 0],
  [-R, -R],
  [0, -1],
  [R, -R],
];
const CUBE: readonly (readonly number[])[] = [
  [1, 0, 0],
  [-1, 0, 0],
  [0, 1, 0],
  [0, -1, 0],
  [0, 0, 1],
  [0, 0, -1],
];

function firstCuts(cone: Cone): Form[] {
  return (cone.across.length === 2 ? OCTAGON : CUBE).map((direction) => cutAlong(cone, direction));
}

/** direction · across − reach ≤ 0 */
function cutAlong({ across, reach }: Cone, direction: readonly number[]): Form {
  const sums = new Map<number, number>();
  const add = ({ columns, factors }: Form, times: number): void => {
    columns.forEach((column, k) => {
      sums.set(column, (sums.get(column) ?? 0) + times * factors[k]);
    });
  };
  across.forEach((form, i) => {
    add(form, direction[i]);
  });
  add(reach, -1);
  const constant = across.reduce((sum, form, i) => sum + direction[i] * form.constant, -reach.constant);
  return { columns: [...sums.keys()], factors: [...sums.values()], constant };
}

/** The plane that touches the cone where this solution passes it, if it does. */
function cutAt(cone: Cone, x: Float64Array): Form[] {
  const at = ({ columns, factors, constant }: Form): number =>
    columns.reduce((sum, column, k) => sum + factors[k] * x[column], constant);
  const vector = cone.across.map(at);
  const length = Math.hypot(...vector);
  const reach = at(cone.reach);
  const scale = Math.max(scaleOf(cone.reach.factors, cone.reach.constant), length);
  if (length - reach <= SLACK * scale) return [];
  return [
    cutAlong(
      cone,
      vector.map((v) => v / length),
    ),
  ];
}
