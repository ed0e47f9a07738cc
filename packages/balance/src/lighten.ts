import { applyAffine, composeAffine } from '@stonehand/base';
import type { Assembly, MassReport, PartSpec, Placement } from '@stonehand/model';
import { type AssemblyInput, assembledMass, type Weighed, weighTree } from './assembled-mass.ts';
import { stateOf } from './check-limits.ts';
import { type ChoiceCone, type ChoiceProblem, type ChoiceRow, type Chosen, choose } from './choose.ts';
import { type Linear, limitForms, linearValue, type State } from './limit-forms.ts';
import type { Solver } from './load-solver.ts';
import type { PartMass } from './part-mass.ts';
import { copiesOf } from './tally.ts';

/** One way to print the copies of a part that are still to be printed. */
export type PartChoice = Readonly<{
  id: string;
  /** for people: `2 perimeters, 8 % gyroid` */
  says: string;
  /** with the same `copies` in every choice of a part: those do not change */
  mass: PartMass;
  /** of all copies still to be printed */
  durationS: number;
  /** against today's: 1 is as stiff as now */
  stiffness: number;
}>;

export type LightenInput = AssemblyInput &
  Readonly<{
    /** by part id; the first of each is today's. Parts that are absent stay as they are */
    choices: Readonly<Record<string, readonly PartChoice[]>>;
  }>;

export type LightenOptions = Readonly<{
  /** limits: keep them at least cost. lightest: least mass that keeps them, whatever it costs */
  aim?: 'limits' | 'lightest';
  /** hours that a part's whole stiffness is worth: a part at 0.8 costs a fifth of it */
  stiffnessH?: number;
  /** keep the limits also when every chosen mass comes out at the upper, or at the lower end of its interval */
  atEnds?: boolean;
  /** points of the curve of mass against hours; 0 for none */
  curvePoints?: number;
  /** share of the cost within which the proof may stop */
  gap?: number;
  limitS?: number;
}>;

export type Change = Readonly<{
  partId: string;
  name: string;
  copies: number;
  from: string;
  to: string;
  choiceId: string;
  savedG: number;
  savedS: number;
  stiffness: number;
}>;

export type CurvePoint = Readonly<{ massG: number; durationS: number; stiffness: number; chosen: boolean }>;

export type Lightened = Readonly<{
  before: MassReport;
  after: MassReport;
  /** hours of what is still to be printed here */
  beforeS: number;
  afterS: number;
  /** largest saving first */
  changes: readonly Change[];
  /** every limit of the assembly and of those below it holds */
  holds: boolean;
  /** least mass against hours with all limits kept (where they can be), lightest first; stiffness: mean over the parts */
  curve: readonly CurvePoint[];
  search: Readonly<{ cost: number; gap: number; ended: 'proven' | 'time'; parts: number; choices: number }>;
}>;

/** Own choice: a part that loses a tenth of its stiffness is worth an hour of printing (no source). */
const STIFFNESS_H = 10;
const CURVE_POINTS = 8;

/**
 * For every part its best choice, so that all limits of an assembly and of those below it hold at least cost: hours of
 * printing and `stiffnessH` for what is lost of each part's stiffness. Masses, centres, moments and leaning are linear in the
 * choices (distances are cones), so the answer is the best one, with its proof. Where no choice keeps all limits,
 * what passes them least.
 */
export function lighten(
  assembly: Assembly,
  input: LightenInput,
  solver: Solver,
  options: LightenOptions = {},
): Lightened {
  const { aim = 'limits', stiffnessH = STIFFNESS_H, atEnds = false, curvePoints = CURVE_POINTS, gap, limitS } = options;
  const weighed = weighTree(assembly, input);
  const groups = groupsOf(assembly, input.choices);
  const limits = [weighed, ...below(weighed)].map((one) => limitRows(one, groups, atEnds));
  const cost = groups.flatMap(({ choices }) =>
    choices.map(({ durationS, stiffness }) => durationS / 3600 + stiffnessH * Math.max(0, 1 - stiffness)),
  );
  const contributions = contributionsTo(assembly, groups);
  const grams = contributions.map(({ allG }) => allG);
  const problem: ChoiceProblem = {
    sizes: groups.map(({ choices }) => choices.length),
    cost: aim === 'lightest' ? grams : cost,
    rows: limits.flatMap(({ rows }) => rows),
    cones: limits.flatMap(({ cones }) => cones),
  };
  const solving = { ...(gap === undefined ? {} : { gap }), ...(limitS === undefined ? {} : { limitS }) };
  const today = groups.map(() => 0);
  // Nothing to choose from is no program.
  const nothing: Chosen = { picks: [], cost: 0, gap: 0, ended: 'proven', excess: allHold(weighed.report) ? 0 : 1 };
  const found = groups.length === 0 ? nothing : choose(problem, solver, { elastic: true, ...solving });
  const chosen: Chosen = found ?? { picks: today, cost: Number.NaN, gap: 1, ended: 'time', excess: 0 };
  const after = assembledMass(assembly, { ...input, pieceMass: massesWith(input, groups, chosen.picks) });
  const before = weighed.report;
  return {
    before,
    after,
    beforeS: secondsOf(groups, today),
    afterS: secondsOf(groups, chosen.picks),
    changes: changesOf(groups, chosen.picks, contributions),
    holds: allHold(after),
    curve:
      curvePoints === 0 || groups.length === 0
        ? []
        : curve(groups, { ...problem, cost }, grams, solver, solving, chosen, after, curvePoints),
    search: {
      cost: chosen.cost,
      gap: chosen.gap,
      ended: chosen.ended,
      parts: groups.length,
      choices: problem.cost.length,
    },
  };
}

/** Millionths of a gram or a millimetre are rounding, not a broken limit. */
const ROUNDING = 1e-6;

/** Whether a report and those below it keep all their limits. */
export function allHold(report: MassReport): boolean {
  return report.limits.every(({ margin }) => margin >= -ROUNDING) && report.children.every(allHold);
}

/** A part whose recipe may change, with its copies in the root that would. */
type Group = Readonly<{ part: PartSpec; choices: readonly PartChoice[] }>;

function groupsOf(assembly: Assembly, choices: LightenInput['choices']): Group[] {
  const groups = new Map<string, Group>();
  const visit = ({ parts, children }: Assembly): void => {
    for (const part of parts) {
      const mine = choices[part.id];
      if (mine !== undefined && mine.length > 0) groups.set(part.id, { part, choices: mine });
    }
    for (const child of children) visit(child.assembly);
  };
  visit(assembly);
  return [...groups.values()];
}

function below(weighed: Weighed): Weighed[] {
  return weighed.children.flatMap((child) => [child, ...below(child)]);
}

/** What each column adds to an assembly's state, in its own axes. */
function contributionsTo(assembly: Assembly, groups: readonly Group[]): State[] {
  const places = new Map<string, (Placement | undefined)[]>();
  const visit = ({ parts, children }: Assembly, toRoot: Placement | undefined): void => {
    for (const part of parts) {
      const mine = places.get(part.id) ?? [];
      for (let k = 0; k < copiesOf(part); k++) {
        const place = part.places[k];
        mine.push(place === undefined || toRoot === undefined ? place : composeAffine(toRoot, place));
      }
      places.set(part.id, mine);
    }
    for (const { assembly: child, place } of children)
      visit(child, toRoot === undefined ? place : composeAffine(toRoot, place));
  };
  visit(assembly, undefined);
  return groups.flatMap(({ part, choices }) =>
    choices.map(({ mass }) => stateOfCopies(mass, places.get(part.id) ?? [], copiesOf(part))),
  );
}

// The same child may stand in an assembly twice: copy numbers begin anew with each.
function stateOfCopies(
  { massG, centreMm, copies }: PartMass,
  places: readonly (Placement | undefined)[],
  each: number,
): State {
  let allG = 0;
  let placedG = 0;
  const first: [number, number, number] = [0, 0, 0];
  places.forEach((place, i) => {
    if (copies?.[(i % each) + 1] !== undefined) return;
    allG += massG.value;
    if (place === undefined) return;
    placedG += massG.value;
    const at = applyAffine(place, centreMm);
    for (let k = 0; k < 3; k++) first[k] += massG.value * at[k];
  });
  return { allG, placedG, firstGMm: first };
}

function limitRows(
  { assembly, report, whole }: Weighed,
  groups: readonly Group[],
  atEnds: boolean,
): { rows: ChoiceRow[]; cones: ChoiceCone[] } {
  const forms = limitForms(assembly.limits);
  if (forms.length === 0) return { rows: [], cones: [] };
  const columns = contributionsTo(assembly, groups);
  const fixed = withoutToday(stateOf(report.massG.value, whole), groups, columns);
  const ends = atEnds ? [endsOf(groups, 'low'), endsOf(groups, 'high')] : [columns.map(() => 1)];
  const rowFor = (form: Linear, times: readonly number[]): ChoiceRow => ({
    factors: columns.map((state, k) => times[k] * (linearValue(form, state) - form.constant)),
    constant: linearValue(form, fixed),
  });
  const rows = ends.flatMap((times) => forms.flatMap((form) => form.rows.map((row) => rowFor(row, times))));
  const cones = ends.flatMap((times) =>
    forms.flatMap(({ cone }) =>
      cone === undefined
        ? []
        : [{ across: cone.across.map((row) => rowFor(row, times)), reach: rowFor(cone.reach, times) }],
    ),
  );
  return { rows, cones };
}

/** By column, an end of its interval as a multiple of its value. */
function endsOf(groups: readonly Group[], end: 'low' | 'high'): number[] {
  return groups.flatMap(({ choices }) =>
    choices.map(({ mass: { massG } }) => (massG.value === 0 ? 1 : (massG[end] ?? massG.value) / massG.value)),
  );
}

/** What remains when the copies that may change are taken out: bought items, paint, what is printed already. */
function withoutToday(state: State, groups: readonly Group[], columns: readonly State[]): State {
  let { allG, placedG } = state;
  const [x, y, z] = state.firstGMm;
  const first: [number, number, number] = [x, y, z];
  let at = 0;
  for (const { choices } of groups) {
    const today = columns[at];
    allG -= today.allG;
    placedG -= today.placedG;
    for (let k = 0; k < 3; k++) first[k] -= today.firstGMm[k];
    at += choices.length;
  }
  return { allG, placedG, firstGMm: first };
}

function massesWith(
  { pieceMass }: LightenInput,
  groups: readonly Group[],
  picks: readonly number[],
): Record<string, PartMass> {
  const masses: Record<string, PartMass> = { ...pieceMass };
  groups.forEach(({ part, choices }, i) => {
    masses[part.id] = choices[picks[i]].mass;
  });
  return masses;
}

function secondsOf(groups: readonly Group[], picks: readonly number[]): number {
  return groups.reduce((sum, { choices }, i) => sum + choices[picks[i]].durationS, 0);
}

function changesOf(groups: readonly Group[], picks: readonly number[], columns: readonly State[]): Change[] {
  const changes: Change[] = [];
  let at = 0;
  groups.forEach(({ part, choices }, i) => {
    const [from, to] = [choices[0], choices[picks[i]]];
    const savedG = columns[at].allG - columns[at + picks[i]].allG;
    at += choices.length;
    if (picks[i] === 0) return;
    const printed = Object.keys(from.mass.copies ?? {}).length;
    changes.push({
      partId: part.id,
      name: part.name,
      copies: copiesOf(part) - printed,
      from: from.says,
      to: to.says,
      choiceId: to.id,
      savedG,
      savedS: from.durationS - to.durationS,
      stiffness: to.stiffness,
    });
  });
  return changes.sort((a, b) => b.savedG - a.savedG || (a.partId < b.partId ? -1 : 1));
}

/** Least cost at every mass from the lightest to the one that was chosen, or to today's. */
function curve(
  groups: readonly Group[],
  problem: ChoiceProblem,
  grams: readonly number[],
  solver: Solver,
  solving: Readonly<{ gap?: number; limitS?: number }>,
  chosen: Chosen,
  after: MassReport,
  points: number,
): CurvePoint[] {
  // Where the limits cannot be kept the curve is drawn without them.
  const base: ChoiceProblem = chosen.excess > 0 ? { ...problem, rows: [], cones: [] } : problem;
  const lightest = choose({ ...base, cost: grams }, solver, solving);
  const cheapest = choose(base, solver, solving);
  if (lightest === undefined || cheapest === undefined) return [];
  const massOf = (picks: readonly number[]): number => picked(groups, grams, picks);
  const [least, most] = [massOf(lightest.picks), Math.max(massOf(cheapest.picks), massOf(chosen.picks))];
  const fixedG = after.massG.value - massOf(chosen.picks);
  const found = new Map<string, CurvePoint>();
  const keep = (picks: readonly number[], isChosen: boolean): void => {
    const parts = Math.max(1, groups.length);
    found.set(picks.join(), {
      massG: fixedG + massOf(picks),
      durationS: secondsOf(groups, picks),
      stiffness: groups.reduce((sum, { choices }, i) => sum + choices[picks[i]].stiffness, 0) / parts,
      chosen: isChosen,
    });
  };
  for (let k = 0; k < points; k++) {
    const capG = least + ((most - least) * k) / Math.max(1, points - 1);
    const cap: ChoiceRow = { factors: grams, constant: -capG * (1 + CAP_SLACK) };
    const best = choose({ ...base, rows: [...base.rows, cap] }, solver, solving);
    if (best !== undefined) keep(best.picks, false);
  }
  keep(chosen.picks, true);
  return [...found.values()].sort((a, b) => a.massG - b.massG || a.durationS - b.durationS);
}

/** The lightest choice must stay allowed under its own mass as a cap. */
const CAP_SLACK = 1e-7;

function picked(groups: readonly Group[], columns: readonly number[], picks: readonly number[]): number {
  let at = 0;
  let sum = 0;
  groups.forEach(({ choices }, i) => {
    sum += columns[at + picks[i]];
    at += choices.length;
  });
  return sum;
}
