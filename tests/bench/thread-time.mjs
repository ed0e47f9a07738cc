// Processor time of the calling process's first thread in ms: what the clock would show on a machine with nothing else to do. Compilers and
// collectors that run beside it do not count, for nobody. Where the system does not tell, the clock it is.
import { existsSync, readFileSync } from 'node:fs';

const told = `/proc/self/task/${process.pid}/schedstat`;

export const threadMs = existsSync(told)
  ? () => Number(readFileSync(told, 'utf8').split(' ')[0]) / 1e6
  : () => performance.now();
