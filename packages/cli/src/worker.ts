import { answerJobs, ENGINE_TASKS, type Job, type Outcome } from '@stonehand/engine';
import { DRAWING_TASKS } from './drawing-tasks.ts';
import { fitPictureTask } from './write-fit.ts';

/** Entry of the worker threads of the command. */
const answer: (job: Job) => Promise<Outcome<unknown>> = answerJobs([...ENGINE_TASKS, ...DRAWING_TASKS, fitPictureTask]);
export default answer;
