import type { Assembly, HardwareItem, MassReport } from '@stonehand/model';
import { type Body, combineBodies } from './bodies.ts';
import { checkLimits } from './check-limits.ts';
import { massFigure } from './doubts.ts';
import type { PartMass } from './part-mass.ts';
import { addAllowances, addBought, addChild, addPart, newTally, type Tally } from './tally.ts';

export type AssemblyInput = Readonly<{
  /** by part id; a part that is absent here and states no mass counts for nothing and is named */
  pieceMass: Readonly<Record<string, PartMass>>;
  hardware: readonly HardwareItem[];
}>;

/**
 * What an assembly weighs, where it balances and whether it keeps its limits; its child assemblies the same, each in its
 * own axes. What a copy weighed on the scale wins over a mass stated for the part, that over the estimated one. Copies without a
 * place count in the mass but not in the centre, bought items are points at their places, paint is a skin, wiring a line; gaps
 * are named in `missing`.
 *
 * Intervals: all estimated masses are taken to be off in the same direction, because they come from one estimate and one
 * calibration; so their ends add. That is cautious for the mass. See doubts.ts for the centre and check-limits.ts for the chances.
 * @throws StonehandError DATA_UNKNOWN for a bought item that is not in `hardware`, USAGE for a place that scales
 */
export function assembledMass(assembly: Assembly, input: AssemblyInput): MassReport {
  return weighTree(assembly, input).report;
}

/** One assembly weighed, with what was gathered for it and its children. */
export type Weighed = Readonly<{
  assembly: Assembly;
  report: MassReport;
  whole: Body;
  tally: Tally;
  children: readonly Weighed[];
}>;

export function weighTree(assembly: Assembly, { pieceMass, hardware }: AssemblyInput): Weighed {
  return weigh(assembly, pieceMass, new Map(hardware.map((item) => [item.id, item])), 0);
}

function weigh(
  assembly: Assembly,
  pieceMass: Readonly<Record<string, PartMass>>,
  items: ReadonlyMap<string, HardwareItem>,
  glueAbove: number,
): Weighed {
  const tally = newTally();
  const glueGPerM = assembly.glueGPerM ?? glueAbove;
  for (const part of assembly.parts) addPart(tally, part, pieceMass[part.id], glueGPerM);
  for (const mounted of assembly.hardware) addBought(tally, assembly.id, mounted, items);
  addAllowances(tally, assembly, glueGPerM);
  const children = assembly.children.map(({ assembly: child, place }) => {
    const weighed = weigh(child, pieceMass, items, glueGPerM);
    addChild(tally, weighed.tally, place);
    return weighed;
  });
  const whole = combineBodies(tally.bodies);
  return { assembly, tally, whole, children, report: reportOf(assembly, tally, whole, children) };
}

function reportOf(assembly: Assembly, tally: Tally, whole: Body, children: readonly Weighed[]): MassReport {
  const sum = (grams: Readonly<Record<string, number>>): number => Object.values(grams).reduce((a, b) => a + b, 0);
  const massG = massFigure([...tally.placed, ...tally.loose], tally.boughtG, tally.copies);
  const extraG = sum(tally.byExtraG);
  return {
    assemblyId: assembly.id,
    name: assembly.name,
    massG,
    centreMm: whole.centreMm,
    inertiaGMm2: whole.inertiaGMm2,
    printedG: sum(tally.byPartG),
    boughtG: tally.boughtG,
    ...(extraG === 0 ? {} : { extraG, byExtraG: tally.byExtraG }),
    ...(tally.weighedG === 0 ? {} : { weighedG: tally.weighedG }),
    bodies: tally.labels,
    stated: assembly.limits,
    byMaterialG: tally.byMaterialG,
    byPartG: tally.byPartG,
    children: children.map(({ report }) => report),
    limits: checkLimits(assembly.limits, massG, whole, tally.placed),
    missing: [...new Set(tally.missing)],
  };
}
