import type { Run } from '@stonehand/model';
import { toEpochS } from './moment.ts';
import type { KeptRun, Schedule, ScheduleInput } from './schedule-types.ts';
import { clockText } from './words.ts';

/** Why a run that should have stayed could not begin when it was to: what was in its way at that time. */
export function movedWhy(was: KeptRun, now: Run, { runs }: Schedule, input: ScheduleInput): string {
  const wantedS = toEpochS(was.start);
  const fromS = toEpochS(input.from);
  const at = (s: number): string => clockText(s, fromS, input.hours.timeZone);
  const nameOf = (run: Run): string =>
    input.plates.find(({ plate }) => plate.id === run.plateId)?.plate.name ?? input.runningNames?.[run.id] ?? 'a run';
  if (now.printerId !== was.printerId) return `${was.printerId} cannot take it any more`;
  if (toEpochS(now.start) < wantedS) return 'it can begin earlier';
  const others = runs.filter((run) => run.id !== now.id && toEpochS(run.start) <= toEpochS(now.start));
  const sameS = (run: Run): number => toEpochS(run.start);
  const before = others.filter((run) => run.printerId === now.printerId).sort((a, b) => sameS(b) - sameS(a))[0];
  if (before !== undefined && toEpochS(before.unloadEnd) > wantedS - input.hours.startWorkS) {
    const until = at(toEpochS(before.end));
    return before.state === 'running'
      ? `${now.printerId} is busy with ${nameOf(before)} until ${until}`
      : `${now.printerId} prints ${nameOf(before)} before it, until ${until}`;
  }
  const shared = others.find(
    (run) => run.spools.some(({ spoolId }) => was.spoolIds.includes(spoolId)) && toEpochS(run.end) > wantedS,
  );
  if (shared !== undefined) {
    const spoolId = shared.spools.find((draw) => was.spoolIds.includes(draw.spoolId))!.spoolId;
    return `spool ${spoolId} is on ${shared.printerId} with ${nameOf(shared)} until ${at(toEpochS(shared.end))}`;
  }
  const attendS = wantedS - (toEpochS(now.start) - toEpochS(now.attendFrom));
  const busy = runs.find(
    (run) =>
      run.id !== now.id &&
      run.state === 'planned' &&
      toEpochS(run.attendFrom) < wantedS + input.hours.watchS &&
      toEpochS(run.watchedUntil) > attendS,
  );
  if (busy !== undefined) return `you are at ${busy.printerId} with ${nameOf(busy)} at that time`;
  const unloaded = runs.find(
    (run) =>
      run.id !== now.id && toEpochS(run.unloadFrom) < wantedS + input.hours.watchS && toEpochS(run.unloadEnd) > attendS,
  );
  if (unloaded !== undefined) return `you are unloading ${nameOf(unloaded)} from ${unloaded.printerId} at that time`;
  if (now.spools.some(({ spoolId }) => !was.spoolIds.includes(spoolId)))
    return `it takes spool ${now.spools.map(({ spoolId }) => spoolId).join(' and ')} now, which must be put on first`;
  return 'you are not there at that time, or the printer is out of service';
}
