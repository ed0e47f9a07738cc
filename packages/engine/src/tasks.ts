import { boresTask } from './bores-task.ts';
import type { Task } from './engine.ts';
import { estimateTask } from './estimate-task.ts';
import { fitFactsTask, trueOutlineTask } from './fit-facts-task.ts';
import { hollowTask } from './hollow-task.ts';
import { jointsTask, overlapTask } from './joints-task.ts';
import { likenessTask } from './likeness-task.ts';
import { limitsTask } from './limits-task.ts';
import { measureTask } from './measure-task.ts';
import { mendTask } from './mend-task.ts';
import { offersTask } from './offers-task.ts';
import { otherPrinterTask } from './other-printer-task.ts';
import { outlineTask } from './outline-task.ts';
import { plateTask } from './plate-task.ts';
import { poseTask } from './pose-task.ts';
import { queueTask } from './queue-task.ts';
import { baseTask, revisionTask } from './revision-tasks.ts';
import { skinTask } from './skin-task.ts';
import { splitTask } from './split-task.ts';
import { whatIfTask } from './what-if-task.ts';

/** The tasks of this package; a worker answers these and whatever its owner adds. */
export const ENGINE_TASKS: readonly Task<never, unknown>[] = [
  measureTask,
  mendTask,
  boresTask,
  likenessTask,
  poseTask,
  fitFactsTask,
  trueOutlineTask,
  splitTask,
  hollowTask,
  estimateTask,
  limitsTask,
  offersTask,
  plateTask,
  otherPrinterTask,
  queueTask,
  skinTask,
  outlineTask,
  jointsTask,
  overlapTask,
  revisionTask,
  baseTask,
  whatIfTask,
];
