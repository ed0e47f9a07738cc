import type { Buy, Figure, Instant } from '@stonehand/model';
import {
  type FilamentNeed,
  onTimeChance,
  type Schedule,
  type ScheduleInput,
  scheduleRuns,
  shoppingList,
} from '@stonehand/schedule';
import type { Task } from './engine.ts';

export type QueueInput = Readonly<{
  schedule: ScheduleInput;
  /** what printing each plate takes, by plate id; a plate of several materials has several rows */
  needs: Readonly<Record<string, readonly FilamentNeed[]>>;
  durationS: Readonly<Record<string, Figure>>;
  deadline?: Instant;
}>;

export type QueueOutcome = Readonly<{
  schedule: Schedule;
  buy: readonly Buy[];
  buyAll: readonly Buy[];
  onTimeChance?: number;
  finish?: Readonly<{ expected: Instant; at80?: Instant; at95?: Instant }>;
}>;

/** Runs, what must be bought for them and for everything that remains, and how sure the finish is. */
export const queueTask: Task<QueueInput, QueueOutcome> = {
  name: 'queue',
  keyed: (input) => input,
  async run({ schedule: input, needs, durationS, deadline }) {
    const schedule = scheduleRuns(input);
    const { spools = [], materials, printers, hours, from, seed } = input;
    const shop = { spools, materials, ...(seed === undefined ? {} : { seed }) };
    const inWindow = new Set(schedule.runs.map((run) => run.plateId));
    const needsOf = (plateIds: readonly string[]): FilamentNeed[] => plateIds.flatMap((id) => needs[id] ?? []);
    const plateIds = input.plates.map(({ plate }) => plate.id);
    const sure = onTimeChance({
      runs: schedule.runs,
      durationS,
      printers,
      hours,
      from,
      ...(deadline === undefined ? {} : { deadline }),
      ...(seed === undefined ? {} : { seed }),
    });
    const { at80, at95 } = sure.finish;
    return {
      schedule,
      buy: shoppingList({ needs: needsOf(plateIds.filter((id) => inWindow.has(id))), ...shop }),
      buyAll: shoppingList({ needs: needsOf(plateIds), ...shop }),
      ...(schedule.finish === undefined
        ? {}
        : {
            finish: {
              expected: schedule.finish,
              ...(at80 === undefined ? {} : { at80 }),
              ...(at95 === undefined ? {} : { at95 }),
            },
          }),
      ...(sure.chance === undefined ? {} : { onTimeChance: sure.chance }),
    };
  },
  keep: ({ schedule: { search } }) => search.ended === 'proven' || search.ended === 'rounds',
};
