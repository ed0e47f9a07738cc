import { setMaxListeners } from 'node:events';
import { mkdirSync, rmSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { hashValue, StonehandError } from '@stonehand/base';
import type { Fault } from '@stonehand/model';
import type { Piscina } from 'piscina';
import { codeVersion } from './code-version.ts';
import { type ContentIndex, openContentIndex } from './content-index.ts';
import { openResultCache, type ResultCache } from './result-cache.ts';

/** A pure stage: JSON in, JSON out. `keyed` is what of the input decides the result (paths do not). */
export interface Task<I, O> {
  readonly name: string;
  readonly keyed: (input: I) => unknown;
  readonly run: (input: I, context: TaskContext) => Promise<O>;
  /** false: the result is marked and must not be kept (a search that was stopped by time) */
  keep?(output: O): boolean;
}

export interface TaskContext {
  readonly cacheFolder: string;
  /** to be told how much of this one job is done, 0 to 1, where it takes long */
  readonly onShare?: (share: number) => void;
}

export type Outcome<O> = Readonly<{ ok: true; value: O }> | Readonly<{ ok: false; fault: Fault }>;

/** `done` counts jobs; a part of one that is under way counts as that part of 1. */
export type Progress = (event: Readonly<{ label: string; done: number; total: number }>) => void;

export interface EngineOptions {
  readonly cacheFolder: string;
  /** file of a worker that answers `runJob` with the same tasks; without it all work stays in this thread */
  readonly workerFile?: string;
  readonly workers?: number;
  readonly capBytes?: number;
  /** forget earlier results */
  readonly fresh?: boolean;
  readonly onProgress?: Progress;
  readonly signal?: AbortSignal;
}

/** Runs tasks through the cache and, when there is enough to do, on a pool of workers. Results are the same for any number of workers. */
export interface Engine {
  readonly cacheFolder: string;
  readonly content: ContentIndex;
  map<I, O>(task: Task<I, O>, inputs: readonly I[], label: string): Promise<Outcome<O>[]>;
  one<I, O>(task: Task<I, O>, input: I, label: string): Promise<O>;
  /** saves the index, drops old results, ends the workers */
  close(): Promise<void>;
}

const DEFAULT_CAP_BYTES = 1 << 30;
// Starting a worker costs about 25 ms plus loading the geometry packages in it: not for one or two jobs.
const LEAST_JOBS_FOR_POOL = 3;

export function openEngine(options: EngineOptions): Engine {
  const { cacheFolder, workers = availableParallelism(), capBytes = DEFAULT_CAP_BYTES, onProgress, signal } = options;
  if (options.fresh === true) rmSync(cacheFolder, { recursive: true, force: true });
  mkdirSync(cacheFolder, { recursive: true });
  const cache = openResultCache(cacheFolder, capBytes);
  const content = openContentIndex(cacheFolder, (done) => onProgress?.({ label: 'looking at files', done, total: 1 }));
  const context: TaskContext = { cacheFolder };
  let pool: Piscina | undefined;
  // Every queued job listens for Ctrl-C.
  if (signal !== undefined) setMaxListeners(0, signal);

  const startPool = async (file: string): Promise<Piscina> => {
    const { Piscina: Pool } = await import('piscina');
    // A job is queued in the worker only when the worker is free, so that Ctrl-C drops what has not begun.
    pool ??= new Pool({
      filename: file,
      minThreads: workers,
      maxThreads: workers,
      concurrentTasksPerWorker: 1,
      idleTimeout: 60_000,
    });
    return pool;
  };

  const map = async <I, O>(task: Task<I, O>, inputs: readonly I[], label: string): Promise<Outcome<O>[]> => {
    const outcomes = new Array<Outcome<O>>(inputs.length);
    const { misses, twins, keys } = lookUp(cache, task, inputs, outcomes);
    const total = inputs.length - twins.size;
    let done = total - misses.length;
    if (misses.length > 0) onProgress?.({ label, done, total });
    const settle = (index: number, outcome: Outcome<O>): void => {
      outcomes[index] = outcome;
      if (outcome.ok && (task.keep?.(outcome.value) ?? true)) cache.put(keys[index]!, outcome.value);
      done++;
      onProgress?.({ label, done, total });
    };
    const usePool = options.workerFile !== undefined && workers > 1 && misses.length >= LEAST_JOBS_FOR_POOL;
    if (usePool) {
      const running = await startPool(options.workerFile!);
      const board = shareBoard(misses.length, (shares) => onProgress?.({ label, done: done + shares, total }));
      try {
        await Promise.all(
          misses.map(async (index, slot) => {
            const job: Job = { task: task.name, input: inputs[index], context, shares: board.shares, slot };
            const outcome = await running.run(job, signal === undefined ? {} : { signal }).catch(interrupted);
            board.clear(slot);
            settle(index, outcome as Outcome<O>);
          }),
        );
      } finally {
        board.stop();
      }
    } else {
      for (const index of misses) {
        if (signal?.aborted) throw interruption();
        const onShare = (share: number): void => onProgress?.({ label, done: done + share, total });
        settle(index, await attempt(task, inputs[index]!, { ...context, onShare }));
        // Lets a key press or a progress bar through between two jobs.
        await new Promise((resolve) => setImmediate(resolve));
      }
    }
    for (const [index, original] of twins) outcomes[index] = outcomes[original]!;
    return outcomes;
  };

  return {
    cacheFolder,
    content,
    map,
    async one(task, input, label) {
      const [outcome] = await map(task, [input], label);
      return resultOf(outcome!);
    },
    async close() {
      await content.save();
      cache.prune();
      await pool?.destroy();
      pool = undefined;
    },
  };
}

/** @throws StonehandError with the fault's own code and words */
export function resultOf<O>(outcome: Outcome<O>): O {
  if (outcome.ok) return outcome.value;
  throw errorOfFault(outcome.fault);
}

export function errorOfFault(fault: Fault): StonehandError {
  const { code, message, remedy, line, column } = fault;
  return new StonehandError(code as StonehandError['code'], message, remedy, {
    ...(line === undefined ? {} : { line }),
    ...(column === undefined ? {} : { column }),
  });
}

/** What a worker is sent. */
export interface Job {
  readonly task: string;
  readonly input: unknown;
  readonly context: TaskContext;
  /** thousandths of each job that is under way, for the thread that waits to look at */
  readonly shares: Int32Array;
  readonly slot: number;
}

/** The body of a worker: finds the task by name and runs it; faults come back as data because error classes do not survive the crossing. */
export function answerJobs(tasks: readonly Task<never, unknown>[]): (job: Job) => Promise<Outcome<unknown>> {
  const byName = new Map(tasks.map((task) => [task.name, task]));
  return async (job) => {
    const task = byName.get(job.task);
    if (task === undefined) throw new Error(`no task named ${job.task}`);
    const onShare = (share: number): void => void Atomics.store(job.shares, job.slot, Math.round(share * THOUSAND));
    return attempt(task as Task<unknown, unknown>, job.input, { ...job.context, onShare });
  };
}

const THOUSAND = 1000;
const LOOK_MS = 250;

/** Memory that workers write their shares into; `tell` hears their sum now and then while it changes. */
function shareBoard(
  jobs: number,
  tell: (shares: number) => void,
): Readonly<{ shares: Int32Array; clear(slot: number): void; stop(): void }> {
  const shares = new Int32Array(new SharedArrayBuffer(4 * jobs));
  let told = 0;
  const timer = setInterval(() => {
    const sum = shares.reduce((total, share) => total + share, 0);
    if (sum !== told) tell(sum / THOUSAND);
    told = sum;
  }, LOOK_MS);
  return {
    shares,
    clear: (slot) => void Atomics.store(shares, slot, 0),
    stop: () => clearInterval(timer),
  };
}

// Every fault of one input is data: one bad mesh is named and the rest goes on.
async function attempt<I, O>(task: Task<I, O>, input: I, context: TaskContext): Promise<Outcome<O>> {
  try {
    return { ok: true, value: await task.run(input, context) };
  } catch (error) {
    if (error instanceof StonehandError) {
      const { code, message, remedy, line, column } = error;
      const place = { ...(line === undefined ? {} : { line }), ...(column === undefined ? {} : { column }) };
      return { ok: false, fault: { code, message, remedy, ...place } };
    }
    const words = error instanceof Error ? (error.stack ?? error.message) : String(error);
    return {
      ok: false,
      fault: {
        code: 'INTERNAL',
        message: `${task.name}: ${words}`,
        remedy: 'This is a fault of stonehand; please report it with the file.',
      },
    };
  }
}

interface LookUp {
  /** inputs to work on */
  readonly misses: readonly number[];
  /** inputs that equal an earlier miss → that miss */
  readonly twins: ReadonlyMap<number, number>;
  readonly keys: readonly string[];
}

function lookUp<I, O>(cache: ResultCache, task: Task<I, O>, inputs: readonly I[], outcomes: Outcome<O>[]): LookUp {
  const misses: number[] = [];
  const twins = new Map<number, number>();
  const first = new Map<string, number>();
  const keys = inputs.map((input) => hashValue({ code: codeVersion(), task: task.name, input: task.keyed(input) }));
  for (const [index, key] of keys.entries()) {
    const original = first.get(key);
    if (original !== undefined) {
      twins.set(index, original);
      continue;
    }
    const value = cache.get(key);
    if (value === undefined) {
      first.set(key, index);
      misses.push(index);
    } else {
      outcomes[index] = { ok: true, value: value as O };
    }
  }
  return { misses, twins, keys };
}

function interruption(): StonehandError {
  return new StonehandError(
    'INTERRUPTED',
    'stopped before the end',
    'Run the same command again: what was finished is kept.',
  );
}

function interrupted(error: unknown): never {
  if (error instanceof Error && error.name === 'AbortError') throw interruption();
  throw error;
}
