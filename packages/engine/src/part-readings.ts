import type { Bore } from '@stonehand/inspect';
import type { Finding, Reading } from '@stonehand/model';
import { boresTask } from './bores-task.ts';
import type { Engine, Outcome } from './engine.ts';
import { measureTask } from './measure-task.ts';
import type { PartWork } from './part-work.ts';

/**
 * A reading of each part as it is printed: scaled, mirrored and mended as the workspace says, with findings that say so. Findings about
 * a mesh that may not be mended say how it may.
 */
export async function partReadings(engine: Engine, works: readonly PartWork[]): Promise<Outcome<Reading>[]> {
  const outcomes = await engine.map(
    measureTask,
    works.map(({ ref }) => ({ mesh: ref!, sectionsMm: [] })),
    'measuring',
  );
  const bores = await boresOfRescaled(engine, works);
  const given = await readingsInFiles(engine, works);
  return outcomes.map((outcome, i): Outcome<Reading> => {
    if (!outcome.ok) return outcome;
    const work = works[i]!;
    return { ok: true, value: partReading(work, outcome.value, given.get(work), bores.get(work) ?? []) };
  });
}

/**
 * Why a part is not printed from its mesh as it is: layers of a surface that is open or faces both ways would be guessed, and no 3MF may
 * hold it. Undefined for a mesh that encloses a volume.
 */
export function whyNotClosed({ volumeDefined, mended, file, findings }: Reading): string | undefined {
  if (volumeDefined) return undefined;
  const what = findings.find(({ severity, code }) => severity === 'stop' && code !== 'mended')?.says ?? '';
  const first = what.split(/(?<=[a-z])[:.] /)[0]!;
  if (mended !== undefined) return `its mesh is not closed and could not be mended: ${first}`;
  return `its mesh is not closed: ${first}. Write "mend: true" at the part to have it mended, or mend a copy: stonehand measure ${file} --repair FOLDER`;
}

async function boresOfRescaled(
  engine: Engine,
  works: readonly PartWork[],
): Promise<ReadonlyMap<PartWork, readonly BoreCount[]>> {
  const rescaled = works.filter(({ spec }) => spec.scale !== 1);
  const outcomes = await engine.map(
    boresTask,
    rescaled.map(({ ref }) => ({ mesh: ref! })),
    'bores',
  );
  return new Map(rescaled.map((work, i) => [work, outcomes[i]!.ok ? boreCounts(outcomes[i]!.value) : []]));
}

/** How many bores there are of a diameter across their flats, widest first. */
type BoreCount = Readonly<{ flatsMm: number; count: number }>;

function boreCounts(bores: readonly Bore[]): BoreCount[] {
  const counts = new Map<number, number>();
  for (const { kind, outline, flatsMm } of bores) {
    if (kind !== 'bore' || outline === 'polygon') continue;
    const rounded = Math.round(100 * flatsMm) / 100;
    counts.set(rounded, (counts.get(rounded) ?? 0) + 1);
  }
  return [...counts].map(([flatsMm, count]) => ({ flatsMm, count })).sort((a, b) => b.flatsMm - a.flatsMm);
}

// What the file says of itself stays true of the mended mesh: its format, its unit, what is doubtful about the file.
async function readingsInFiles(engine: Engine, works: readonly PartWork[]): Promise<ReadonlyMap<PartWork, Reading>> {
  const mended = works.filter(({ asInFile }) => asInFile !== undefined);
  const outcomes = await engine.map(
    measureTask,
    mended.map(({ asInFile }) => ({ mesh: asInFile!, sectionsMm: [] })),
    'measuring',
  );
  return new Map(mended.flatMap((work, i) => (outcomes[i]!.ok ? [[work, outcomes[i]!.value] as const] : [])));
}

function partReading(
  { spec, mending }: PartWork,
  printed: Reading,
  given: Reading | undefined,
  bores: readonly BoreCount[],
): Reading {
  const asInFile = given ?? printed;
  const own = given === undefined ? printed.findings : [...printed.findings, ...given.findings.filter(isOfFile)];
  const findings = [
    ...(mending === undefined ? [] : [mendedFinding(mending)]),
    ...(spec.scale === 1 ? [] : [rescaledFinding(spec.scale, bores)]),
    ...(spec.mirror === undefined ? [] : [mirroredFinding(spec.mirror)]),
    ...(spec.item === undefined ? itemsFinding(asInFile) : []),
    ...(spec.mend === true ? own : own.map(withWayToMend)),
  ];
  return {
    ...printed,
    file: spec.meshFile,
    partId: spec.id,
    format: asInFile.format,
    unit: asInFile.unit,
    unitFrom: asInFile.unitFrom,
    grade: gradeOf(findings),
    findings,
    ...(spec.item === undefined ? {} : { item: spec.item }),
    ...(mending === undefined ? {} : { mended: mending }),
  };
}

// Beyond this the surface and its slices contradict each other.
const VOLUME_SHARE = 0.01;

function mendedFinding({ steps, left, volumeMm3, slicesMm3 }: NonNullable<PartWork['mending']>): Finding {
  const done = steps.length === 0 ? 'Nothing of it could be mended.' : `Mended before planning: ${steps.join(' ')}`;
  const apart =
    volumeMm3 !== undefined &&
    slicesMm3 !== undefined &&
    Math.abs(volumeMm3 - slicesMm3) > VOLUME_SHARE * Math.max(volumeMm3, slicesMm3);
  const volumes = apart
    ? ` The mended surface encloses ${cm3(volumeMm3)}, the slices of what was there add up to ${cm3(slicesMm3)}: ${(100 * (volumeMm3 / slicesMm3 - 1)).toFixed(1)} % apart.`
    : '';
  return {
    code: 'mended',
    severity: 'doubt',
    count: Math.max(1, steps.length),
    says: `${done}${left.length === 0 ? '' : ` ${left.join(' ')}`}${volumes}`,
    remedy:
      left.length > 0 || apart
        ? 'Look at the mended part in the pictures, or mend it in the modelling program.'
        : 'Look at the mended part in the pictures before it is printed.',
    spoils: apart ? ['volumeMm3', 'centreMm', 'inertiaMm5'] : [],
  };
}

function rescaledFinding(scale: number, bores: readonly BoreCount[]): Finding {
  const smaller = scale < 1;
  const shown = bores
    .slice(0, MOST_BORES)
    .map(({ flatsMm, count }) => `${count > 1 ? `${count} × ` : ''}${mm(flatsMm / scale)} becomes ${mm(flatsMm)}`);
  const named =
    shown.length === 0
      ? ''
      : ` Bores here: ${shown.join(', ')}${bores.length > MOST_BORES ? `, and ${bores.length - MOST_BORES} more sizes` : ''}.`;
  return {
    code: 'rescaled',
    severity: 'doubt',
    count: 1,
    says: `Rescaled by ${scale} in the workspace: bores, gaps and walls ${smaller ? 'shrink' : 'grow'} with it, bought items and parts that are not rescaled do not.${named}`,
    remedy:
      'Prove each fit with a test piece, or change the size in the modelling program, where bores can keep theirs.',
    spoils: [],
  };
}

const MOST_BORES = 4;

function mirroredFinding(axis: string): Finding {
  return {
    code: 'mirrored',
    severity: 'note',
    count: 1,
    says: `Mirrored along ${axis} in the workspace: bores keep their size, threads and letters come out mirrored.`,
    spoils: [],
  };
}

function itemsFinding({ items }: Reading): Finding[] {
  if (items === undefined) return [];
  const named = items.map(({ item, quantity }) => (quantity > 1 ? `${quantity} × ${item}` : item));
  return [
    {
      code: 'severalItems',
      severity: 'doubt',
      count: items.reduce((sum, { quantity }) => sum + quantity, 0),
      says: `The file asks for several things to be built (${named.join(', ')}); they are taken as one part that cannot be taken apart.`,
      remedy: `Make each a part of its own: the same mesh with item: ${items[0]!.item}${items[0]!.quantity > 1 ? ` and quantity: ${items[0]!.quantity}` : ''}, and so on.`,
      spoils: [],
    },
  ];
}

// Findings about the file or its unit, which mending the mesh does not touch.
const OF_FILE: ReadonlySet<string> = new Set([
  'likelyUnit',
  'endMissing',
  'extraBytes',
  'flattening',
  'leftOut',
  'mixedUnits',
  'repeatedCorners',
  'supportLeftOut',
  'surfaces',
  'unknownElements',
  'unreadExtensions',
  'undeclaredPaths',
  'wrongCount',
]);

function isOfFile({ code }: Finding): boolean {
  return OF_FILE.has(code);
}

const MENDABLE: ReadonlySet<string> = new Set(['holes', 'facing', 'insideOutBodies', 'duplicates', 'overlap']);

/** A finding that repair may mend, with how to have it mended. */
export function withWayToMend(finding: Finding): Finding {
  if (!MENDABLE.has(finding.code)) return finding;
  return {
    ...finding,
    remedy:
      `${finding.remedy ?? ''} Or let it be mended: "mend: true" at the part, or for a single file: stonehand measure FILE --repair FOLDER.`.trim(),
  };
}

function gradeOf(findings: readonly Finding[]): Reading['grade'] {
  if (findings.some(({ severity }) => severity === 'stop')) return 'untrusted';
  return findings.some(({ severity }) => severity === 'doubt') ? 'doubtful' : 'sound';
}

function cm3(mm3: number): string {
  return `${(mm3 / 1000).toPrecision(4)} cm³`;
}

function mm(length: number): string {
  return `${Number(length.toFixed(2))} mm`;
}
