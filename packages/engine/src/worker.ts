import { answerJobs, type Job, type Outcome } from './engine.ts';
import { ENGINE_TASKS } from './tasks.ts';

/** Entry of a worker thread that knows this package's tasks only. */
const answer: (job: Job) => Promise<Outcome<unknown>> = answerJobs(ENGINE_TASKS);
export default answer;
