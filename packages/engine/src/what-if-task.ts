import { type WhatIf, whatIf } from '@stonehand/schedule';
import type { Task } from './engine.ts';
import type { QueueInput } from './queue-task.ts';

/** What another evening or printer would change. */
export const whatIfTask: Task<Pick<QueueInput, 'schedule' | 'chains'>, readonly WhatIf[]> = {
  name: 'what-if',
  keyed: ({ schedule, chains }) => ({ schedule, chains }),
  async run({ schedule, chains }) {
    return whatIf({ schedule, chains });
  },
};
