import { nearestName, StonehandError } from '@stonehand/base';
import type { Plan, PlateSnapshot, Workspace } from '@stonehand/model';
import { ledgerState } from '@stonehand/shop';

/** A run that a line of the ledger is about: planned, or under way. */
export type NamedRun = Readonly<{
  runId: string;
  plateId: string;
  printerId: string;
  name: string;
  copyIds: readonly string[];
  spools: readonly Readonly<{ spoolId: string; massG: number }>[];
  durationS: number;
  snapshot?: PlateSnapshot;
}>;

/**
 * The run that the names mean: a printer, a plate's name, a part or the end of its id, or copies. Runs under way come first, then
 * planned ones in the order of their starts. A copy in full (`part#2`) names no run: then `copyIds` are meant and nothing else.
 */
export function runNamed(
  names: readonly string[],
  { workspace, plan, what }: Readonly<{ workspace: Workspace; plan?: Plan; what: 'started' | 'done' | 'failed' }>,
): NamedRun | undefined {
  const over = new Set(ledgerState(workspace.ledger).endedRunIds);
  const underWay = runsUnderWay(workspace);
  const begun = new Set(underWay.map(({ runId }) => runId));
  const planned =
    plan === undefined ? [] : plannedRuns(plan).filter((run) => !over.has(run.runId) && !begun.has(run.runId));
  const runs = what === 'started' ? planned : [...underWay, ...planned];
  const found = runs.find((run) => names.every((name) => isMeant(run, name)));
  if (found === undefined && names.length === 1 && workspace.printers.some(({ id }) => id === names[0])) {
    const verb = what === 'started' ? 'planned' : 'under way or planned';
    throw new StonehandError(
      'DATA_UNKNOWN',
      `nothing is ${verb} on ${names[0]}`,
      'Name the copies, such as heron/head/skull#1, and the printer with --printer.',
    );
  }
  return found;
}

function isMeant({ printerId, name, copyIds }: NamedRun, said: string): boolean {
  if (said === printerId || said === name || copyIds.includes(said)) return true;
  return copyIds.some((copyId) => {
    const id = copyId.slice(0, copyId.lastIndexOf('#'));
    return id === said || id.endsWith(`/${said}`) || copyId.endsWith(`/${said}`);
  });
}

function runsUnderWay(workspace: Workspace): NamedRun[] {
  return ledgerState(workspace.ledger).underWay.map(({ started, copyIds }) => {
    const snapshot = started.snapshot as PlateSnapshot | undefined;
    return {
      runId: started.runId ?? `run-${started.at}`,
      plateId: started.plateId ?? '',
      printerId: started.printerId ?? '',
      name: snapshot?.plate?.name ?? copyIds.join(', '),
      copyIds,
      spools: started.spools ?? [],
      durationS: started.durationS ?? 0,
      ...(snapshot === undefined ? {} : { snapshot }),
    };
  });
}

function plannedRuns(plan: Plan): NamedRun[] {
  return plan.runs.flatMap((run): NamedRun[] => {
    const plate = plan.plates.find(({ id }) => id === run.plateId);
    if (run.state !== 'planned' || plate === undefined) return [];
    return [
      {
        runId: run.id,
        plateId: plate.id,
        printerId: run.printerId,
        name: plate.name,
        copyIds: plate.placed.map(({ copyId }) => copyId),
        spools: run.spools,
        durationS: plate.durationS.value,
        snapshot: snapshotOf(plan, plate),
      },
    ];
  });
}

function snapshotOf(plan: Plan, plate: Plan['plates'][number]): PlateSnapshot {
  const ids = new Set(plate.placed.map(({ copyId }) => copyId.slice(0, copyId.lastIndexOf('#'))));
  return {
    plate,
    recipe: plan.recipes.find(({ id }) => id === plate.recipeId)!,
    pieces: plan.pieces
      .filter(({ id }) => ids.has(id))
      .map(({ id, partId, meshHash, pose }) => ({
        id,
        meshFile: plan.parts.find((part) => part.id === partId)?.meshFile ?? '',
        meshHash,
        rotation: pose.rotation,
      })),
  };
}

/** Share of a plate's filament that is laid when `layer` layers are done: by the grams of its pieces' layers. */
export function shareAtLayer(plan: Plan | undefined, run: NamedRun, layer: number): number | undefined {
  if (plan === undefined) return undefined;
  let laid = 0;
  let all = 0;
  for (const copyId of run.copyIds) {
    const id = copyId.slice(0, copyId.lastIndexOf('#'));
    const estimate = plan.estimates.find((one) => one.pieceId === id && one.printerId === run.printerId);
    estimate?.layerG.forEach((g, i) => {
      all += g;
      if (i < layer) laid += g;
    });
  }
  return all > 0 ? laid / all : undefined;
}

/** A copy by its whole id, or by the end of it where only one is meant. */
export function copyNamed(said: string, workspace: Workspace, copies: readonly string[]): string {
  const ends = copies.filter((copy) => copy === said || copy.endsWith(`/${said}`));
  if (ends.length === 1) return ends[0]!;
  const ofPart = copies.filter((copy) => {
    const id = copy.slice(0, copy.lastIndexOf('#'));
    return id === said || id.endsWith(`/${said}`);
  });
  if (ofPart.length === 1) return ofPart[0]!;
  if (ofPart.length > 1) {
    throw new StonehandError(
      'DATA_UNKNOWN',
      `"${said}" has ${ofPart.length} copies`,
      `Say which: ${ofPart.slice(0, 4).join(', ')}${ofPart.length > 4 ? ' …' : ''}.`,
    );
  }
  const near = nearestName(
    said,
    copies.flatMap((copy) => [copy, copy.slice(copy.lastIndexOf('/') + 1)]),
  );
  throw new StonehandError(
    'DATA_UNKNOWN',
    `"${said}": there is no such part in ${workspace.name}`,
    near === undefined ? 'Name a copy as assembly/part#1.' : `Did you mean "${near}"?`,
  );
}
