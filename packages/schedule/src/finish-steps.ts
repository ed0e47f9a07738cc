import type { Hours, Instant, Run, Todo } from '@stonehand/model';
import { createCalendar, createTaken, earliestBlock, take } from './earliest-block.ts';
import { toEpochS, toInstant } from './moment.ts';
import { presenceSpans } from './presence.ts';
import type { QueueMachine } from './queue.ts';

/** What is done to a part once its last piece is off the printer, in this order. */
export type FinishingChain = Readonly<{
  id: string;
  name: string;
  /** plates that hold what of it is still to be printed */
  plateIds: readonly string[];
  steps: readonly Readonly<{ what: string; handsOnS: number; waitS: number }>[];
}>;

export type FinishInput = Readonly<{
  chains: readonly FinishingChain[];
  runs: readonly Run[];
  hours: Hours;
  from: Instant;
  /** steps that would begin later are not listed */
  to?: Instant;
}>;

export type FinishedWork = Readonly<{
  todo: readonly Todo[];
  /** end of the last step and its waiting of all chains whose plates have runs; absent when there is none */
  built?: Instant;
  /** by the run that brings a chain's last piece: seconds from its end to the end of the chain */
  tailS: Readonly<Record<string, number>>;
}>;

const DAY_S = 86_400;
const HANDS: QueueMachine = {
  id: '',
  availableFrom: 0,
  loaded: -1,
  stocks: [],
  stockChange: 0,
  unloadFirst: false,
  unattended: true,
  coolDown: 0,
  down: [],
};

/**
 * Puts finishing into the person's free time: hands-on work is one block in one stretch of presence, beside the work at the
 * printers and never at the same time; paint and glue then wait, whoever is there. Chains whose last piece comes first go first.
 */
export function finishSteps({ chains, runs, hours, from, to }: FinishInput): FinishedWork {
  const runOf = new Map(runs.map((run) => [run.plateId, run]));
  const ready = chains.flatMap((chain) => {
    const last = chain.plateIds.map((id) => runOf.get(id));
    if (last.length === 0 || last.includes(undefined) || chain.steps.length === 0) return [];
    const run = (last as Run[]).reduce((a, b) => (toEpochS(a.unloadEnd) >= toEpochS(b.unloadEnd) ? a : b));
    return [{ chain, run, readyS: toEpochS(run.unloadEnd) }];
  });
  if (ready.length === 0) return { todo: [], tailS: {} };
  ready.sort((a, b) => a.readyS - b.readyS || (a.chain.id < b.chain.id ? -1 : 1));
  const startS = toEpochS(from);
  const steps = ready.reduce((sum, { chain }) => sum + chain.steps.length, 0);
  const waitS = ready.reduce((sum, { chain }) => sum + chain.steps.reduce((all, step) => all + step.waitS, 0), 0);
  const horizonS = ready.at(-1)!.readyS + waitS + (14 + 2 * steps) * DAY_S;
  const spans = presenceSpans(hours, from, new Date(1000 * horizonS).toISOString());
  const calendar = createCalendar(
    spans.filter(({ kind }) => kind === 'present').map((span) => [span.fromS - startS, span.toS - startS] as const),
  );
  const taken = createTaken(2 * runs.length + steps + 1);
  for (const run of runs) {
    if (run.state === 'planned') take(taken, toEpochS(run.attendFrom) - startS, toEpochS(run.watchedUntil) - startS);
    take(taken, toEpochS(run.unloadFrom) - startS, toEpochS(run.unloadEnd) - startS);
  }
  const untilS = to === undefined ? Infinity : toEpochS(to) - startS;
  const todo: Todo[] = [];
  const tailS: Record<string, number> = {};
  let builtS = 0;
  for (const { chain, run, readyS } of ready) {
    let at = Math.max(0, readyS - startS);
    for (const step of chain.steps) {
      const begin = earliestBlock(calendar, HANDS, taken, at, step.handsOnS, 0, 0);
      if (begin === Infinity) return { todo: todo.sort(byTime), tailS };
      take(taken, begin, begin + step.handsOnS);
      if (begin < untilS) todo.push(todoOf(chain, step, run, begin + startS, hours.timeZone));
      at = begin + step.handsOnS + step.waitS;
    }
    builtS = Math.max(builtS, at);
    tailS[run.id] = Math.max(tailS[run.id] ?? 0, at + startS - toEpochS(run.end));
  }
  return { todo: todo.sort(byTime), built: toInstant(startS + builtS, hours.timeZone), tailS };
}

function todoOf(
  { name }: FinishingChain,
  { what, handsOnS, waitS }: FinishingChain['steps'][number],
  run: Run,
  atS: number,
  timeZone: string,
): Todo {
  const wait = waitS >= 3600 ? `, then ${Math.round(waitS / 360) / 10} h to wait` : '';
  return {
    from: toInstant(atS, timeZone),
    to: toInstant(atS + handsOnS, timeZone),
    what: 'finish',
    printerId: '',
    runId: run.id,
    plateId: run.plateId,
    says: `${name}: ${what} (${Math.round(handsOnS / 60)} min${wait})`,
  };
}

const byTime = (a: Todo, b: Todo): number => toEpochS(a.from) - toEpochS(b.from) || (a.says < b.says ? -1 : 1);

/** Seconds that finishing adds at least after a plate's end: hands-on and waiting of the longest chain that needs it. */
export function finishingTailS(chains: readonly FinishingChain[], plateId: string): number {
  let tail = 0;
  for (const { plateIds, steps } of chains)
    if (plateIds.includes(plateId))
      tail = Math.max(
        tail,
        steps.reduce((sum, step) => sum + step.handsOnS + step.waitS, 0),
      );
  return tail;
}
