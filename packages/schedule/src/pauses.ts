import type { Printer } from '@stonehand/model';
import type { BuiltJob } from './built-job.ts';
import type { PresenceSpan } from './presence.ts';

/** Seconds from the start of the run to each of its pauses, by machine; absent when there is none. */
export function pauseSeconds(job: BuiltJob, printers: readonly Printer[]): { pauses?: readonly (readonly number[])[] } {
  if (job.pauses.length === 0) return {};
  return {
    pauses: printers.map(({ id }) => job.pauses.flatMap(({ atS }) => atS[id] ?? []).sort((a, b) => a - b)),
  };
}

/** Seconds from the start of the plan until the person is there. */
export function firstPresentS(presence: readonly PresenceSpan[]): number {
  const first = presence.find(({ kind }) => kind === 'present');
  return first === undefined ? 0 : first.fromS - presence[0]!.fromS;
}
