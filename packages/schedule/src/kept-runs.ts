import type { Spool } from '@stonehand/model';
import { type BuiltJob, durationOn } from './built-job.ts';
import { toEpochS } from './moment.ts';
import type { KeptRun, ScheduleInput } from './schedule-types.ts';

export type KeptPlate = KeptRun & Readonly<{ startS: number }>;

/** The runs to keep by plate, those that their printer can still do. */
export function keptByPlate(
  { keep = [], printers }: ScheduleInput,
  jobs: readonly BuiltJob[],
  startS: number,
): ReadonlyMap<string, KeptPlate> {
  const kept = new Map<string, KeptPlate>();
  for (const run of keep) {
    const job = jobs.find(({ plate }) => plate.id === run.plateId);
    const k = printers.findIndex(({ id }) => id === run.printerId);
    if (job === undefined || k < 0 || durationOn(job, printers[k]!, k) === Infinity) continue;
    kept.set(run.plateId, { ...run, startS: toEpochS(run.start) - startS });
  }
  return kept;
}

/** Lays the kept runs on the spools they had, as far as those still hold enough, and says what is left on the shelf for the others. */
export function layKept(
  jobs: readonly BuiltJob[],
  spools: readonly Spool[],
  keepBackG: number,
  keptOf: ReadonlyMap<string, KeptPlate>,
): { spools: Spool[]; spoolOf: Record<string, string> } {
  const drawnG = new Map<string, number>();
  const spoolOf: Record<string, string> = {};
  const kept = jobs.filter((job) => keptOf.has(job.plate.id));
  kept.sort((a, b) => keptOf.get(a.plate.id)!.startS - keptOf.get(b.plate.id)!.startS);
  for (const job of kept) {
    const { spoolIds } = keptOf.get(job.plate.id)!;
    for (const materialId of job.materialIds) {
      const spool = spools.find(({ id, materialId: of }) => of === materialId && spoolIds.includes(id));
      if (spool === undefined) continue;
      const drawn = (drawnG.get(spool.id) ?? 0) + job.drawG[materialId]!;
      if (drawn > spool.lowG - keepBackG) continue;
      drawnG.set(spool.id, drawn);
      spoolOf[`${job.plate.id}\n${materialId}`] = spool.id;
    }
  }
  const less = (spool: Spool, g: number): Spool =>
    g === 0 ? spool : { ...spool, netG: spool.netG - g, lowG: spool.lowG - g, highG: spool.highG - g };
  return { spools: spools.map((spool) => less(spool, drawnG.get(spool.id) ?? 0)), spoolOf };
}
