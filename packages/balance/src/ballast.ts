import type { Assembly, BallastRule, HardwareItem, MassReport, Vec3 } from '@stonehand/model';
import { type AssemblyInput, assembledMass, weighTree } from './assembled-mass.ts';
import { stateOf } from './check-limits.ts';
import { type LimitForm, type Linear, limitForms, linearValue, type State } from './limit-forms.ts';
import type { Program, ProgramRow, Solver } from './load-solver.ts';
import { atMostZero, type Cone, type Form, solveWithCones } from './solve-with-cones.ts';

/** A counterweight: plain grams, or so many of a bought item. */
export type Weight = Readonly<{ place: string; atMm: Vec3; massG: number; itemId?: string; count?: number }>;
export type Move = Readonly<{ itemId: string; byMm: Vec3 }>;

export type Ballasted = Readonly<{
  addedG: number;
  weights: readonly Weight[];
  moves: readonly Move[];
  after: MassReport;
  /** every limit of the assembly holds; else only the mass stays above its own */
  holds: boolean;
}>;

/**
 * How an assembly comes home to its limits without printing anything anew: by moving what may be moved, by counterweights
 * where they may go, or by both; least added mass first, then the shortest way of what is moved. Weights made of bought items
 * come in whole pieces. Each way is the least there is (a linear program, whole numbers for pieces).
 * Where the mass limit forbids every way, the same without it: `holds` is then false.
 * @returns nothing when all limits hold already, or when no way helps
 */
export function ballast(assembly: Assembly, input: AssemblyInput, rule: BallastRule, solver: Solver): Ballasted[] {
  const weighed = weighTree(assembly, input);
  const forms = limitForms(assembly.limits);
  const state = stateOf(weighed.report.massG.value, weighed.whole);
  if (weighed.whole.massG === 0 || holdsAt(forms, state)) return [];
  const balance = forms.filter(({ unit }) => unit !== 'g');
  const ways: readonly Way[] = [
    { moves: true, weights: false },
    { moves: true, weights: true },
    { moves: false, weights: true },
  ];
  const found: Ballasted[] = [];
  for (const asked of [forms, balance]) {
    if (found.length > 0 || (asked === balance && holdsAt(balance, state))) break;
    for (const way of ways) {
      if ((way.moves && rule.movable.length === 0) || (way.weights && rule.places.length === 0)) continue;
      const plan = planOf(assembly, input, rule, way, asked, state, solver);
      if (plan === undefined || found.some((other) => samePlan(other, plan))) continue;
      found.push(plan);
    }
  }
  return found.sort((a, b) => a.addedG - b.addedG || wayOf(a) - wayOf(b));
}

type Way = Readonly<{ moves: boolean; weights: boolean }>;

const ROUNDING = 1e-6;

function holdsAt(forms: readonly LimitForm[], state: State): boolean {
  return forms.every(({ side, allowed, value }) => side * (allowed - value(state)) >= -ROUNDING);
}

const wayOf = ({ moves }: Ballasted): number =>
  moves.reduce((sum, { byMm: [x, y, z] }) => sum + Math.abs(x) + Math.abs(y) + Math.abs(z), 0);

function samePlan(a: Ballasted, b: Ballasted): boolean {
  return a.addedG === b.addedG && a.moves.length === b.moves.length && a.weights.length === b.weights.length;
}

/** Columns of the program: what each adds to the state, and its bounds. */
type Column = { state: State; lower: number; upper: number; whole: boolean; costG: number; costMm: number };

type Draft = {
  readonly columns: Column[];
  readonly rows: ProgramRow[];
  readonly weights: Readonly<{
    place: BallastRule['places'][number];
    item?: HardwareItem;
    mass: number;
    first: readonly number[];
  }>[];
  readonly moves: Readonly<{ itemId: string; by: readonly number[] }>[];
};

function planOf(
  assembly: Assembly,
  input: AssemblyInput,
  rule: BallastRule,
  way: Way,
  forms: readonly LimitForm[],
  state: State,
  solver: Solver,
): Ballasted | undefined {
  const draft: Draft = { columns: [], rows: [], weights: [], moves: [] };
  const items = new Map(input.hardware.map((item) => [item.id, item]));
  if (way.weights) addWeights(draft, rule, items);
  if (way.moves) addMoves(draft, assembly, rule, items);
  const { columns } = draft;
  const formOf = (linear: Linear): Form => ({
    columns: columns.map((_, k) => k),
    factors: columns.map((column) => linearValue(linear, column.state) - linear.constant),
    constant: linearValue(linear, state),
  });
  const cones: Cone[] = forms.flatMap(({ cone }) =>
    cone === undefined ? [] : [{ across: cone.across.map(formOf), reach: formOf(cone.reach) }],
  );
  const program: Program = {
    cost: columns.map(({ costG }) => costG),
    lower: columns.map(({ lower }) => lower),
    upper: columns.map(({ upper }) => upper),
    whole: columns.map(({ whole }) => whole),
    rows: [...draft.rows, ...forms.flatMap(({ rows }) => rows.map((row) => atMostZero(formOf(row))))],
  };
  const least = solveWithCones(program, cones, solver, {});
  if (!least.found) return undefined;
  // Of all that add so little, the one that moves least.
  const cap: ProgramRow = {
    columns: columns.map((_, k) => k),
    factors: columns.map(({ costG }) => costG),
    most: least.value * (1 + 1e-9) + 1e-9,
  };
  const shortest = solveWithCones(
    { ...program, cost: columns.map(({ costMm }) => costMm), rows: [...program.rows, cap] },
    cones,
    solver,
    {},
  );
  return drawn(assembly, input, draft, rule, (shortest.found ? shortest : least).x);
}

const NOTHING: State = { allG: 0, placedG: 0, firstGMm: [0, 0, 0] };

function unitState(k: number, size: number): State {
  const first: [number, number, number] = [0, 0, 0];
  first[k] = size;
  return { ...NOTHING, firstGMm: first };
}

/** A weight is a column of grams (or of pieces), and three for its first moment, which its box holds between two planes each. */
function addWeights(
  { columns, rows, weights }: Draft,
  rule: BallastRule,
  items: ReadonlyMap<string, HardwareItem>,
): void {
  const kinds = rule.itemIds.length === 0 ? [undefined] : rule.itemIds.map((id) => items.get(id));
  for (const place of rule.places) {
    const masses: number[] = [];
    for (const item of kinds) {
      if (rule.itemIds.length > 0 && item === undefined) continue;
      const grams = item?.massG ?? 1;
      const mass = columns.length;
      masses.push(mass);
      columns.push({
        state: { ...NOTHING, allG: grams, placedG: grams },
        lower: 0,
        upper: Number.POSITIVE_INFINITY,
        whole: item !== undefined,
        costG: grams,
        costMm: 0,
      });
      const first = [0, 1, 2].map((k) => {
        const at = columns.length;
        columns.push({
          state: unitState(k, 1),
          lower: Number.NEGATIVE_INFINITY,
          upper: Number.POSITIVE_INFINITY,
          whole: false,
          costG: 0,
          costMm: 0,
        });
        rows.push({ columns: [at, mass], factors: [1, -grams * place.maxMm[k]], most: 0 });
        rows.push({ columns: [at, mass], factors: [1, -grams * place.minMm[k]], least: 0 });
        return at;
      });
      weights.push({ place, ...(item === undefined ? {} : { item }), mass, first });
    }
    if (place.mostG !== undefined)
      rows.push({ columns: masses, factors: masses.map((k) => columns[k].costG), most: place.mostG });
  }
}

/** A block moves along three axes by so much that all its places stay in their box; the way is the sum of both directions. */
function addMoves(
  { columns, moves }: Draft,
  assembly: Assembly,
  rule: BallastRule,
  items: ReadonlyMap<string, HardwareItem>,
): void {
  for (const { itemId, minMm, maxMm } of rule.movable) {
    const places = assembly.hardware
      .filter((mounted) => mounted.itemId === itemId)
      .flatMap((mounted) => mounted.places);
    const item = items.get(itemId);
    if (places.length === 0 || item === undefined) continue;
    const blockG = places.length * item.massG;
    const by = [0, 1, 2].flatMap((k) => {
      const ahead = Math.max(0, maxMm[k] - Math.max(...places.map((at) => at[k])));
      const back = Math.max(0, Math.min(...places.map((at) => at[k])) - minMm[k]);
      return [ahead, back].map((upper, direction) => {
        columns.push({
          state: unitState(k, direction === 0 ? blockG : -blockG),
          lower: 0,
          upper,
          whole: false,
          costG: 0,
          costMm: 1,
        });
        return columns.length - 1;
      });
    });
    moves.push({ itemId, by });
  }
}

/** Below this a weight is the solver's dust, and a move not worth a screwdriver. */
const LEAST_G = 1e-6;
const LEAST_MM = 1e-6;

function drawn(
  assembly: Assembly,
  input: AssemblyInput,
  { weights, moves }: Draft,
  rule: BallastRule,
  x: Float64Array,
): Ballasted {
  const found = weights.flatMap(({ place, item, mass, first }): Weight[] => {
    const count = item === undefined ? undefined : Math.round(x[mass]);
    const massG = item === undefined ? x[mass] : count! * item.massG;
    if (massG < LEAST_G) return [];
    const at = (k: number): number => Math.min(place.maxMm[k], Math.max(place.minMm[k], x[first[k]] / massG));
    const weight = { place: place.name, atMm: [at(0), at(1), at(2)] as Vec3, massG };
    return [item === undefined ? weight : { ...weight, itemId: item.id, count: count! }];
  });
  const moved = moves.flatMap(({ itemId, by }): Move[] => {
    const [x1, x2, y1, y2, z1, z2] = by.map((k) => x[k]);
    const byMm: Vec3 = [x1 - x2, y1 - y2, z1 - z2];
    return Math.hypot(...byMm) < LEAST_MM ? [] : [{ itemId, byMm }];
  });
  const { put, after } = centred(assembly, input, rule, found, moved);
  const holds = after.limits.every(({ margin }) => margin >= -HOLDS);
  return { addedG: put.reduce((sum, { massG }) => sum + massG, 0), weights: put, moves: moved, after, holds };
}

/** A weight may lie anywhere along an axis that no limit feels: there it goes to the middle of its box. */
function centred(
  assembly: Assembly,
  input: AssemblyInput,
  { places }: BallastRule,
  found: readonly Weight[],
  moves: readonly Move[],
): { put: readonly Weight[]; after: MassReport } {
  let put = found;
  let after = assembledMass(withBallast(assembly, put, moves), input);
  for (const [i, { place }] of found.entries()) {
    const box = places.find(({ name }) => name === place);
    for (let k = 0; box !== undefined && k < 3; k++) {
      const at = [...put[i].atMm];
      at[k] = (box.minMm[k] + box.maxMm[k]) / 2;
      const tried = put.with(i, { ...put[i], atMm: [at[0], at[1], at[2]] });
      const report = assembledMass(withBallast(assembly, tried, moves), input);
      if (passedBy(report) > passedBy(after) + ROUNDING) continue;
      [put, after] = [tried, report];
    }
  }
  return { put, after };
}

function passedBy({ limits }: MassReport): number {
  return limits.reduce((sum, { margin }) => sum + Math.max(0, -margin), 0);
}

/** Cones are held to a ten-millionth of their size, some hundred millimetres or newton millimetres. */
const HOLDS = 1e-4;

/** The assembly with counterweights in it and its movable items moved. */
function withBallast(assembly: Assembly, weights: readonly Weight[], moves: readonly Move[]): Assembly {
  const hardware = assembly.hardware.map((mounted) => {
    const move = moves.find(({ itemId }) => itemId === mounted.itemId);
    if (move === undefined) return mounted;
    const [dx, dy, dz] = move.byMm;
    return { ...mounted, places: mounted.places.map(([x, y, z]): Vec3 => [x + dx, y + dy, z + dz]) };
  });
  const bought = weights.flatMap(({ itemId, count, atMm }) =>
    itemId === undefined ? [] : [{ itemId, quantity: count!, places: Array.from({ length: count! }, () => atMm) }],
  );
  const plain = weights.flatMap(({ itemId, massG, atMm }) =>
    itemId === undefined ? [{ what: 'counterweight', kind: 'other' as const, massG, alongMm: [atMm] }] : [],
  );
  return { ...assembly, hardware: [...hardware, ...bought], extras: [...(assembly.extras ?? []), ...plain] };
}
