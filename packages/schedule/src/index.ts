export {
  type AssignSpoolsInput,
  assignSpools,
  KEEP_BACK_G,
  type SpoolAssignment,
} from './assign-spools.ts';
export {
  type FinishedWork,
  type FinishInput,
  type FinishingChain,
  finishingTailS,
  finishSteps,
} from './finish-steps.ts';
export { type Forecast, type ForecastInput, forecastBuild } from './forecast-build.ts';
export { hoursWithin } from './hours-within.ts';
export { type MomentOptions, parseMoment, toEpochS, toInstant } from './moment.ts';
export { type OnTime, type OnTimeInput, onTimeChance } from './on-time-chance.ts';
export { type OrderByInput, orderBy } from './order-by.ts';
export type { SpoolNeed } from './pack-spools.ts';
export { type PresenceSpan, presenceSpans } from './presence.ts';
export type { Queue, QueueJob, QueueMachine, QueueStock } from './queue.ts';
export { type MovedRun, type ReplanOptions, replanRuns } from './replan-runs.ts';
export { scheduleRuns } from './schedule-runs.ts';
export {
  type KeptRun,
  type PlateToRun,
  type PrinterNow,
  PURGE_G,
  type Schedule,
  type ScheduleInput,
  type Waiting,
} from './schedule-types.ts';
export { type FilamentNeed, type ShoppingInput, shoppingList } from './shopping-list.ts';
export { COMMON_SHARE, skewed } from './skewed.ts';
export { type QueueAnswer, type SolveQueueOptions, solveQueue } from './solve-queue.ts';
export { type WhatIf, type WhatIfInput, whatIf } from './what-if.ts';
export { clockText } from './words.ts';
