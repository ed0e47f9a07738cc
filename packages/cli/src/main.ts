#!/usr/bin/env node
import { reportFailure } from './fail.ts';
import { buildProgram } from './program.ts';

// A reader that goes away (`stonehand ... | head`) is not an error.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});

const debug = process.argv.includes('--debug');
const json = process.argv.includes('--json');
try {
  await buildProgram().parseAsync(process.argv);
} catch (error) {
  process.exitCode = reportFailure(error, { debug, json });
}
