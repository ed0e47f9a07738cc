import { createRequire } from 'node:module';

/** The few calls that this program makes of its log. */
export interface Log {
  info(fields: object, message: string): void;
  error(fields: object, message: string): void;
}

/** With --log: pino, one JSON object a line on standard error. Without it nothing is loaded and nothing written. */
export function openLog(wanted: boolean): Log {
  if (!wanted) return { info: () => undefined, error: () => undefined };
  const require = createRequire(import.meta.url);
  const { pino } = require('pino') as typeof import('pino');
  return pino({ base: null }, pino.destination({ dest: 2, sync: true }));
}
