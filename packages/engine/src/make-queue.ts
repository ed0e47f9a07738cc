import type { Figure, Instant, Plan, Plate, Workspace } from '@stonehand/model';
import { type FilamentNeed, toInstant } from '@stonehand/schedule';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';
import type { SearchBudget } from './pieces.ts';
import { queueTask } from './queue-task.ts';

export type MadeQueue = Pick<Plan, 'runs' | 'todo' | 'presence' | 'buy' | 'buyAll' | 'cautions'> &
  Pick<Partial<Plan>, 'finish' | 'onTimeChance'> &
  Readonly<{ waiting: Plan['waiting']; search: Plan['searches'][number] }>;

/** Puts the plates into the person's days and says what to buy for them. */
export async function makeQueue(
  engine: Engine,
  workspace: Workspace,
  plates: readonly Plate[],
  pieces: readonly SlicedPiece[],
  { from, to, budget }: Readonly<{ from: Instant; to?: Instant; budget: SearchBudget }>,
): Promise<MadeQueue> {
  const byId = new Map(pieces.map((piece) => [piece.piece.id, piece]));
  const durationS: Record<string, Figure> = {};
  const needs: Record<string, FilamentNeed[]> = {};
  for (const plate of plates) {
    durationS[plate.id] = plate.durationS;
    needs[plate.id] = [needOf(plate, byId, workspace)];
  }
  const { schedule, ...outcome } = await engine.one(
    queueTask,
    {
      schedule: {
        plates: plates.map((plate) => ({ plate, importance: importanceOf(plate, byId) })),
        printers: workspace.printers,
        materials: workspace.materials,
        hours: workspace.hours,
        // A shelf that nobody wrote down is unknown, not empty: then nothing waits for filament, and all of it is to buy.
        ...(workspace.spools.length === 0 ? {} : { spools: workspace.spools }),
        from,
        ...(to === undefined ? {} : { to }),
        ...(workspace.deadline === undefined ? {} : { deadline: workspace.deadline }),
        ...budget,
      },
      needs,
      durationS,
      ...(workspace.deadline === undefined ? {} : { deadline: workspace.deadline }),
    },
    'queue',
  );
  return {
    ...outcome,
    runs: schedule.runs,
    todo: schedule.todo,
    presence: schedule.presence.map(({ fromS, toS, kind }) => ({
      from: toInstant(fromS, workspace.timeZone),
      to: toInstant(toS, workspace.timeZone),
      kind,
    })),
    cautions: schedule.cautions,
    waiting: schedule.waiting.flatMap(({ copyIds, reason }) => copyIds.map((copyId) => ({ copyId, reason }))),
    search: schedule.search,
  };
}

function importanceOf(plate: Plate, byId: ReadonlyMap<string, SlicedPiece>): number {
  return Math.max(...plate.placed.map(({ copyId }) => byId.get(pieceIdOf(copyId))?.work.part.spec.importance ?? 1));
}

function needOf(plate: Plate, byId: ReadonlyMap<string, SlicedPiece>, workspace: Workspace): FilamentNeed {
  const printer = workspace.printers.find(({ id }) => id === plate.printerId)!;
  let supportG = 0;
  for (const { copyId } of plate.placed) {
    const estimate = byId.get(pieceIdOf(copyId))?.estimates.find(({ printerId }) => printerId === plate.printerId);
    for (const { kind, massG } of estimate?.byKind ?? [])
      if (kind === 'support' || kind === 'contact') supportG += massG;
  }
  return {
    id: plate.id,
    materialId: plate.materialIds[0]!,
    massG: plate.massG,
    supportG,
    durationS: plate.durationS.value,
    failPerStart: printer.failPerStart,
    failPerHour: printer.failPerHour,
  };
}
