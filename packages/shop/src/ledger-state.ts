import type { LedgerEntry } from '@stonehand/model';

/** A run that was started and whose end is not recorded. */
export type RunUnderWay = Readonly<{ started: LedgerEntry; copyIds: readonly string[] }>;

/** What the ledger says of the printers now. */
export interface LedgerState {
  readonly underWay: readonly RunUnderWay[];
  /** runs that are over or were left behind */
  readonly endedRunIds: readonly string[];
  /** by printer, the spools that were put on it last */
  readonly hanging: Readonly<Record<string, readonly string[]>>;
  /** sentences about lines that contradict each other */
  readonly doubts: readonly string[];
}

/**
 * Which runs are under way and what hangs where, from the lines in the order of their moments (a line may be back-dated). A run
 * ends with a line of its id, or with one that names one of its copies as done, failed or there already.
 */
export function ledgerState(ledger: readonly LedgerEntry[]): LedgerState {
  const lines = ledger.map((line, i) => ({ line, i, at: Date.parse(line.at) }));
  lines.sort((a, b) => a.at - b.at || a.i - b.i);
  let underWay: RunUnderWay[] = [];
  const endedRunIds: string[] = [];
  const hanging: Record<string, readonly string[]> = {};
  const doubts: string[] = [];
  for (const { line } of lines) {
    const { what, printerId, runId, copyIds = [], spoolId } = line;
    if (what === 'spoolChanged' && printerId !== undefined && spoolId !== undefined) hanging[printerId] = [spoolId];
    if (what === 'started') {
      const before = underWay.find(({ started }) => printerId !== undefined && started.printerId === printerId);
      if (before !== undefined) {
        doubts.push(
          `The ledger does not say how ${before.copyIds.join(', ')} on ${printerId} ended, and the next run was started there: it is planned again. Record it as done or failed.`,
        );
        underWay = underWay.filter((run) => run !== before);
        if (before.started.runId !== undefined) endedRunIds.push(before.started.runId);
      }
      underWay.push({ started: line, copyIds });
      if (printerId !== undefined && line.spools !== undefined)
        hanging[printerId] = line.spools.map((draw) => draw.spoolId);
    }
    if (what !== 'done' && what !== 'failed' && what !== 'have') continue;
    const ended = underWay.filter(
      (run) =>
        (runId !== undefined && run.started.runId === runId) || copyIds.some((copyId) => run.copyIds.includes(copyId)),
    );
    underWay = underWay.filter((run) => !ended.includes(run));
    endedRunIds.push(...ended.flatMap(({ started }) => started.runId ?? []), ...(runId === undefined ? [] : [runId]));
  }
  return { underWay, endedRunIds: [...new Set(endedRunIds)], hanging, doubts };
}
