import type { Figure, Instant, Plan, PlanBasis, Plate, Workspace } from '@stonehand/model';
import { type FilamentNeed, finishingTailS, type ScheduleInput, toEpochS, toInstant } from '@stonehand/schedule';
import { deadlines } from './deadlines.ts';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { finishingChains } from './finishing-chains.ts';
import { importances } from './importances.ts';
import { pieceIdOf } from './make-plates.ts';
import type { SearchBudget } from './pieces.ts';
import type { PlateChoices } from './plate-choices.ts';
import { platePauses } from './plate-pauses.ts';
import { type QueueInput, queueTask } from './queue-task.ts';
import { testPiecesFirst } from './test-pieces.ts';
import type { Now } from './under-way.ts';
import { whatIfTask } from './what-if-task.ts';

export type MadeQueue = Pick<
  Plan,
  'plates' | 'runs' | 'todo' | 'presence' | 'buy' | 'buyAll' | 'cautions' | 'outlook'
> &
  Pick<Partial<Plan>, 'finish' | 'onTimeChance'> &
  Readonly<{ waiting: Plan['waiting']; search: Plan['searches'][number]; moved: NonNullable<Plan['moved']> }>;

export type QueueOf = Readonly<{
  workspace: Workspace;
  pieces: ReadonlyMap<string, SlicedPiece>;
  from: Instant;
  to?: Instant;
  budget: SearchBudget;
  now: Now;
  basis?: PlanBasis;
  whatIf?: boolean;
}>;

/** Puts the plates into the person's days, each on the best of the printers it may go to, and says what to buy for them. */
export async function makeQueue(engine: Engine, choices: readonly PlateChoices[], of: QueueOf): Promise<MadeQueue> {
  const { workspace } = of;
  const input = queueInput(choices, of);
  const { schedule, todo, outlook, ...outcome } = await engine.one(queueTask, input, 'queue');
  // A deadline that will probably be missed asks by itself what would help.
  const asks = of.whatIf === true || (outcome.onTimeChance ?? 1) < 0.5;
  const whatIf = asks ? await engine.one(whatIfTask, input, 'what if') : undefined;
  // A plate that runs on another printer than it was packed for is the plate as it lies there.
  const chosen = new Map<string, Plate>();
  for (const { plate, others } of choices) {
    const run = schedule.runs.find(({ plateId }) => plateId === plate.id);
    chosen.set(plate.id, others.find(({ printerId }) => printerId === run?.printerId) ?? plate);
  }
  const idOf = (plateId: string): string => chosen.get(plateId)?.id ?? plateId;
  return {
    ...outcome,
    ...(outlook === undefined ? {} : { outlook: { ...outlook, ...(whatIf === undefined ? {} : { whatIf }) } }),
    plates: [...chosen.values()],
    runs: schedule.runs.map((run) => ({ ...run, plateId: idOf(run.plateId) })),
    todo: todo.map((one) => ({ ...one, plateId: idOf(one.plateId) })),
    presence: schedule.presence.map(({ fromS, toS, kind }) => ({
      from: toInstant(fromS, workspace.timeZone),
      to: toInstant(toS, workspace.timeZone),
      kind,
    })),
    cautions: schedule.cautions,
    waiting: schedule.waiting.flatMap(({ copyIds, reason }) => copyIds.map((copyId) => ({ copyId, reason }))),
    search: schedule.search,
    moved: schedule.moved.map(({ plateId, ...moved }) => ({
      ...moved,
      plateId: idOf(plateId),
      name: chosen.get(plateId)?.name ?? plateId,
    })),
  };
}

/** Everything that the queue is made of. */
export function queueInput(choices: readonly PlateChoices[], of: QueueOf): QueueInput {
  const { workspace, pieces, now, basis } = of;
  const needs: Record<string, FilamentNeed> = {};
  for (const { plate, others } of choices)
    for (const one of [plate, ...others])
      needs[`${plate.id} ${one.printerId}`] = needOf(one, plate.id, pieces, workspace);
  const over = new Set([...now.endedRunIds, ...now.running.map(({ id }) => id)]);
  return {
    schedule: scheduleInput(choices, of),
    earlier: basis?.runs.filter(({ runId }) => !over.has(runId)) ?? [],
    chains: finishingChains(choices, of),
    needs,
    runningS: now.durationS,
  };
}

export function scheduleInput(choices: readonly PlateChoices[], of: QueueOf): ScheduleInput {
  const { workspace, pieces, from, to, budget, now } = of;
  const { deadline } = workspace;
  const chains = finishingChains(choices, of);
  const importance = importances(workspace, pieces);
  const dues = deadlines(workspace);
  const tests = testPiecesFirst(choices, pieces);
  return {
    plates: choices.map(({ plate, others }) => {
      const tailS = finishingTailS(chains, plate.id);
      const deadlineS = deadline === undefined ? Infinity : toEpochS(deadline);
      const dueS = Math.min(
        deadlineS,
        ...plate.placed.map(({ copyId }) => dues(pieces.get(pieceIdOf(copyId))!.work.part.spec.assemblyId)),
      );
      const pauses = platePauses([plate, ...others], of);
      return {
        plate,
        importance: Math.max(...plate.placed.map(({ copyId }) => importance(pieceIdOf(copyId)))),
        ...(pauses.length === 0 ? {} : { pauses }),
        ...(others.length === 0 ? {} : { choices: [plate, ...others].map(figuresOf) }),
        ...(tests.get(plate.id)!.length === 0 ? {} : { after: tests.get(plate.id)! }),
        ...(dueS === Infinity || (tailS === 0 && dueS === deadlineS)
          ? {}
          : { due: toInstant(dueS - tailS, workspace.timeZone) }),
      };
    }),
    printers: workspace.printers,
    materials: workspace.materials,
    hours: workspace.hours,
    // A shelf that nobody wrote down is unknown, not empty: then nothing waits for filament, and all of it is to buy.
    ...(workspace.spools.length === 0 ? {} : { spools: workspace.spools }),
    from,
    ...(to === undefined ? {} : { to }),
    ...(deadline === undefined ? {} : { deadline }),
    running: now.running,
    runningNames: now.runningNames,
    printersNow: now.printersNow,
    endedRunIds: now.endedRunIds,
    ...budget,
  };
}

function figuresOf({ printerId, durationS, massG }: Plate): { printerId: string; durationS: Figure; massG: Figure } {
  return { printerId, durationS, massG };
}

function needOf(
  plate: Plate,
  id: string,
  pieces: ReadonlyMap<string, SlicedPiece>,
  workspace: Workspace,
): FilamentNeed {
  const printer = workspace.printers.find((one) => one.id === plate.printerId)!;
  let supportG = 0;
  for (const { copyId } of plate.placed) {
    const estimate = pieces.get(pieceIdOf(copyId))?.estimates.find(({ printerId }) => printerId === plate.printerId);
    for (const { kind, massG } of estimate?.byKind ?? [])
      if (kind === 'support' || kind === 'contact') supportG += massG;
  }
  return {
    id,
    materialId: plate.materialIds[0]!,
    massG: plate.massG,
    supportG,
    durationS: plate.durationS.value,
    failPerStart: printer.failPerStart,
    failPerHour: printer.failPerHour,
  };
}
