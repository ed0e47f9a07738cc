import type { Plate, Run, Spool } from '@stonehand/model';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';

/**
 * Parts whose pieces are drawn from spools of different lots, or of unstated ones: colour and size differ from lot to lot, and
 * pieces of one part are seen side by side (practice of owners, no source).
 */
export function mixedLots(
  plates: readonly Plate[],
  runs: readonly Run[],
  pieces: readonly SlicedPiece[],
  spools: readonly Spool[],
): string[] {
  const partOf = new Map(pieces.map(({ piece, work }) => [piece.id, { id: piece.partId, name: work.part.spec.name }]));
  const lotOf = new Map(spools.map(({ id, lot }) => [id, lot ?? `spool ${id}`]));
  const runOf = new Map(runs.map((run) => [run.plateId, run]));
  const lots = new Map<string, { name: string; lots: Set<string>; pieces: Set<string> }>();
  for (const plate of plates) {
    for (const { copyId } of plate.placed) {
      const part = partOf.get(pieceIdOf(copyId));
      if (part === undefined) continue;
      const copy = `${part.id}#${copyId.slice(copyId.lastIndexOf('#') + 1)}`;
      const seen = lots.get(copy) ?? { name: part.name, lots: new Set(), pieces: new Set() };
      for (const { spoolId } of runOf.get(plate.id)?.spools ?? []) seen.lots.add(lotOf.get(spoolId) ?? spoolId);
      seen.pieces.add(copyId);
      lots.set(copy, seen);
    }
  }
  return [...lots.values()]
    .filter((one) => one.pieces.size > 1 && one.lots.size > 1)
    .map(
      (one) =>
        `The pieces of ${one.name} come from ${[...one.lots].sort().join(' and ')}: lots may differ in colour; compare them before they are joined.`,
    );
}
