import { homedir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { UnitSystem } from '@stonehand/base';
import { type Engine, openEngine } from '@stonehand/engine';
import { type Log, openLog } from './log.ts';
import { progressBar } from './progress.ts';

/** Options that every verb takes. */
export interface CommonOptions {
  readonly json?: boolean;
  readonly log?: boolean;
  readonly debug?: boolean;
  readonly fresh?: boolean;
  readonly workers?: number;
  readonly units?: UnitSystem;
}

/** Where text goes, how wide it may be, and the means of work. Made once per call of the command. */
export interface Context {
  readonly options: CommonOptions;
  readonly log: Log;
  readonly width: number;
  readonly colour: boolean;
  readonly signal: AbortSignal;
  /** text for people or JSON for machines; the only way to standard output */
  print(text: string): void;
  /** one line for people on standard error; nothing with --json */
  say(text: string): void;
  /** opens the engine with its cache beside the workspace, or in the user's cache folder without one */
  engine(workspaceRoot?: string): Engine;
  close(): Promise<void>;
}

const WIDTH_IN_A_PIPE = 100;

export function openContext(options: CommonOptions): Context {
  const log = openLog(options.log === true);
  const stop = new AbortController();
  // The first Ctrl-C lets running files be finished and nothing new begin; the second ends at once.
  const onInterrupt = (): void => {
    if (stop.signal.aborted) process.exit(130);
    stop.abort();
  };
  process.on('SIGINT', onInterrupt);
  const engines: Engine[] = [];
  const bar = progressBar(process.stderr.isTTY === true && options.json !== true && options.log !== true);
  return {
    options,
    log,
    width: process.stdout.isTTY ? Math.max(60, process.stdout.columns ?? WIDTH_IN_A_PIPE) : WIDTH_IN_A_PIPE,
    colour: process.stdout.isTTY === true && process.env['NO_COLOR'] === undefined,
    signal: stop.signal,
    print: (text) => process.stdout.write(text.endsWith('\n') ? text : `${text}\n`),
    say: (text) => {
      if (options.json !== true) process.stderr.write(`${text}\n`);
    },
    engine(workspaceRoot) {
      const engine = openEngine({
        cacheFolder: workspaceRoot === undefined ? userCacheFolder() : join(workspaceRoot, '.stonehand'),
        workerFile: fileURLToPath(new URL('./worker.js', import.meta.url)),
        ...(options.workers === undefined ? {} : { workers: options.workers }),
        fresh: options.fresh === true,
        signal: stop.signal,
        onProgress: (event) => {
          bar.update(event);
          if (event.done === 0 || event.done === event.total) log.info(event, 'progress');
        },
      });
      engines.push(engine);
      return engine;
    },
    async close() {
      process.off('SIGINT', onInterrupt);
      for (const engine of engines) await engine.close();
      bar.stop();
    },
  };
}

function userCacheFolder(): string {
  const base =
    process.env['XDG_CACHE_HOME'] ?? (process.platform === 'win32' ? process.env['LOCALAPPDATA'] : undefined);
  return join(base ?? join(homedir(), '.cache'), 'stonehand');
}
