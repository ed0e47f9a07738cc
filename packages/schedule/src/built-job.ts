import { StonehandError } from '@stonehand/base';
import type { Figure, Plate, Printer } from '@stonehand/model';
import { toEpochS } from './moment.ts';
import { type PlateToRun, PURGE_G, type ScheduleInput } from './schedule-types.ts';

export type BuiltJob = Readonly<{
  plate: Plate;
  /** by printer index */
  durationS: readonly (Figure | undefined)[];
  massG: readonly (Figure | undefined)[];
  importance: number;
  dueS: number;
  materialIds: readonly string[];
  /** grams by material that must be on the spool: the high estimate and the purge */
  drawG: Readonly<Record<string, number>>;
  pauses: NonNullable<PlateToRun['pauses']>;
}>;

export function builtJob(
  { plate, choices, importance = 1, due, needG, pauses = [] }: PlateToRun,
  input: ScheduleInput,
  startS: number,
): BuiltJob {
  const { printers } = input;
  const known = choices ?? [{ printerId: plate.printerId, durationS: plate.durationS, massG: plate.massG }];
  for (const choice of known) {
    if (printers.some((printer) => printer.id === choice.printerId)) continue;
    throw new StonehandError(
      'DATA_UNKNOWN',
      `plate ${plate.name}: no printer is called "${choice.printerId}"`,
      'Name one of the printers of the shop.',
    );
  }
  for (const id of plate.materialIds) {
    if (input.materials.some((material) => material.id === id)) continue;
    throw new StonehandError(
      'DATA_UNKNOWN',
      `plate ${plate.name}: no material is called "${id}"`,
      'Name one of the materials of the shop.',
    );
  }
  const materialIds = [...new Set(plate.materialIds)].sort();
  const purgeG = input.purgeG ?? PURGE_G;
  const heaviest = Math.max(...known.map((choice) => choice.massG.high ?? choice.massG.value));
  const drawG: Record<string, number> = {};
  for (const id of materialIds)
    drawG[id] = (needG === undefined ? (id === plate.materialIds[0] ? heaviest : 0) : (needG[id] ?? 0)) + purgeG;
  const dues = [due, input.deadline]
    .filter((moment) => moment !== undefined)
    .map((moment) => toEpochS(moment) - startS);
  const pick = (key: 'durationS' | 'massG'): (Figure | undefined)[] =>
    printers.map((printer) => known.find((choice) => choice.printerId === printer.id)?.[key]);
  return {
    plate,
    durationS: pick('durationS'),
    massG: pick('massG'),
    importance,
    dueS: Math.min(Infinity, ...dues),
    materialIds,
    drawG,
    pauses,
  };
}

export function checkTwice(jobs: readonly BuiltJob[]): void {
  const seen = new Set<string>();
  for (const { plate } of jobs) {
    if (seen.has(plate.id))
      throw new StonehandError(
        'DATA_DUPLICATE',
        `plate ${plate.name} (${plate.id}) is in the queue twice`,
        'Give each plate once; print it again as a plate of its own.',
      );
    seen.add(plate.id);
  }
}

export function durationOn(job: BuiltJob, printer: Printer, k: number): number {
  const figure = job.durationS[k];
  if (figure === undefined || figure.value > printer.longestRunS) return Infinity;
  return Math.ceil(figure.value);
}

export function possible(job: BuiltJob, printers: readonly Printer[]): number[] {
  return printers.flatMap((printer, k) => (durationOn(job, printer, k) < Infinity ? [k] : []));
}

export function tooLong(job: BuiltJob, printers: readonly Printer[]): string {
  const said = printers.flatMap((printer, k) => {
    const figure = job.durationS[k];
    return figure === undefined
      ? []
      : [
          `${Math.round(figure.value / 360) / 10} h on ${printer.id}, where ${Math.round(printer.longestRunS / 360) / 10} h is the longest run its owner allows`,
        ];
  });
  return `takes ${said.join('; ')}`;
}
