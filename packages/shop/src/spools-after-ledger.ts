import type { LedgerEntry, Spool } from '@stonehand/model';
import type { CountedSpool } from './read-spools.ts';

/**
 * What is left on each spool after the ledger: lines later than `counted` with the spool's id and a mass. A weighing sets the
 * net mass; prints done or failed take theirs off. A spool without `counted` stays as the file says.
 * @returns spools, and a sentence for each that the ledger used although the file does not say when it was counted
 */
export function spoolsAfterLedger(
  spools: readonly CountedSpool[],
  ledger: readonly LedgerEntry[],
): { spools: Spool[]; assumed: string[] } {
  const assumed: string[] = [];
  const after = spools.map(({ counted, ...spool }) => {
    const lines = ledger.flatMap((line) => linesOf(line, spool.id));
    if (counted === undefined) {
      if (lines.some((line) => line.what !== 'forecast' && line.what !== 'started')) {
        assumed.push(
          `Spool ${spool.id} is taken as shop/spools.yaml says; add "counted" so that later prints are taken off.`,
        );
      }
      return spool;
    }
    return lines.filter((line) => isAfter(line.at, counted)).reduce(applyLine, spool);
  });
  return { spools: after, assumed };
}

/** A line about one spool; a run that drew from several counts once for each. */
function linesOf(line: LedgerEntry, spoolId: string): LedgerEntry[] {
  const draws = line.spools?.filter((draw) => draw.spoolId === spoolId) ?? [];
  if (draws.length > 0) return draws.map(({ massG }) => ({ ...line, spoolId, massG }));
  return line.spoolId === spoolId && line.massG !== undefined ? [line] : [];
}

function applyLine(spool: Spool, line: LedgerEntry): Spool {
  const massG = line.massG ?? 0;
  if (line.what === 'weighed') {
    const { lowG = massG, highG = massG } = line;
    return { ...spool, netG: massG, lowG, highG, from: `weighed ${line.at}` };
  }
  if (line.what !== 'done' && line.what !== 'failed') return spool;
  const less = (g: number): number => Math.max(0, g - massG);
  const from = spool.from.endsWith(' less prints since') ? spool.from : `${spool.from}, less prints since`;
  return { ...spool, netG: less(spool.netG), lowG: less(spool.lowG), highG: less(spool.highG), from };
}

// A date alone counts as the evening of that day would: prints of the same day are already off. Local time without
// offset is compared as written; a shelf is not counted to the hour.
function isAfter(at: string, counted: string): boolean {
  if (counted.length <= 10) return at.slice(0, 10) > counted;
  if (/(Z|[+-]\d{2}:\d{2})$/.test(counted)) return Date.parse(at) > Date.parse(counted);
  return at.slice(0, 16) > counted.replace(' ', 'T').slice(0, 16);
}
