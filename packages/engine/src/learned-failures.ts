import type { LedgerEntry, Printer } from '@stonehand/model';

// What was stated counts like this many starts, and like this many hours, of the printer's own record (no source; a beginner's
// guess is worth about a season of weekends).
const STATED_STARTS = 30;
const STATED_HOURS = 200;
// A failure within these layers is one of starting: the person is still there (hours.yaml watches the first minutes).
const START_LAYERS = 5;

/**
 * Printers whose chances of failing take in what the ledger records of their runs: mean of a Beta for starts and of a Gamma for
 * hours, with the stated rates as what was known before. Hours are those that the entries state.
 * @returns says: one sentence for each printer whose record speaks
 */
export function learnedFailures(
  printers: readonly Printer[],
  ledger: readonly LedgerEntry[],
): Readonly<{ printers: readonly Printer[]; says: readonly string[] }> {
  const says: string[] = [];
  const learned = printers.map((printer) => {
    const runs = ledger.filter(
      ({ what, printerId }) => printerId === printer.id && (what === 'done' || what === 'failed'),
    );
    if (runs.length === 0) return printer;
    const failed = runs.filter(({ what }) => what === 'failed');
    const atStart = failed.filter(({ layer }) => layer !== undefined && layer <= START_LAYERS).length;
    const hours = runs.reduce((sum, { durationS = 0 }) => sum + durationS / 3600, 0);
    const failPerStart = (printer.failPerStart * STATED_STARTS + atStart) / (STATED_STARTS + runs.length);
    const failPerHour = (printer.failPerHour * STATED_HOURS + failed.length - atStart) / (STATED_HOURS + hours);
    says.push(
      `${printer.id}: failures taken as ${percent(failPerStart)} a start and ${percent(failPerHour)} an hour, from what was stated and ${runs.length} recorded ${runs.length === 1 ? 'run' : 'runs'} (${failed.length} failed)`,
    );
    return { ...printer, failPerStart, failPerHour };
  });
  return { printers: learned, says };
}

function percent(share: number): string {
  return `${Number((100 * share).toPrecision(2))} %`;
}
