import type { Plan } from '@stonehand/model';
import { type PlanNames, pieceOfCopy } from './plan-names.ts';

/** How far an assembly is: its copies by state, and what it still waits for. */
export type Progress = Readonly<{
  assemblyId: string;
  /** printed, had already, or made elsewhere */
  there: number;
  /** in a run of this window */
  planned: number;
  waits: number;
  /** names of what it waits for, in the plan's order */
  waitsFor: readonly string[];
}>;

/** One row an assembly, in the plan's order. Copies of a cut part count piece by piece. */
export function progressOf(plan: Plan, names: PlanNames): Progress[] {
  const planned = copiesInRuns(plan);
  const open = new Map<string, Set<string>>();
  for (const copyId of [...planned, ...plan.waiting.map((row) => row.copyId)]) {
    const pieceId = pieceOfCopy(copyId);
    open.set(pieceId, (open.get(pieceId) ?? new Set()).add(copyId));
  }
  const rows = new Map<string, { there: number; planned: number; waits: number; waitsFor: string[] }>();
  for (const part of plan.parts) {
    const row = rows.get(part.assemblyId) ?? { there: 0, planned: 0, waits: 0, waitsFor: [] };
    rows.set(part.assemblyId, row);
    const pieceIds = part.pieceIds.length > 0 ? part.pieceIds : [part.id];
    for (const pieceId of pieceIds) {
      const mine = [...(open.get(pieceId) ?? [])];
      const now = mine.filter((copyId) => planned.has(copyId)).length;
      row.planned += now;
      row.waits += mine.length - now;
      row.there += Math.max(0, part.quantity - mine.length);
      if (mine.length > now) row.waitsFor.push(names.pieceName(pieceId));
    }
  }
  return [...rows].map(([assemblyId, row]) => ({ assemblyId, ...row }));
}

/** Copies whose plate is in a run of the plan. */
export function copiesInRuns(plan: Plan): Set<string> {
  const running = new Set(plan.runs.map((run) => run.plateId));
  return new Set(
    plan.plates.filter((plate) => running.has(plate.id)).flatMap((plate) => plate.placed.map(({ copyId }) => copyId)),
  );
}
