import type { Figure, LedgerEntry, Plate, PlateSnapshot, Run, Workspace } from '@stonehand/model';
import { type PrinterNow, toEpochS, toInstant } from '@stonehand/schedule';
import { ledgerState } from '@stonehand/shop';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pieceIdOf } from './make-plates.ts';

/** What the ledger says of now, as the queue wants it. */
export type Now = Readonly<{
  running: readonly Run[];
  /** plates of the running runs that the plan can show */
  plates: readonly Plate[];
  durationS: Readonly<Record<string, Figure>>;
  runningNames: Readonly<Record<string, string>>;
  printersNow: Readonly<Record<string, PrinterNow>>;
  endedRunIds: readonly string[];
  /** copies that are on a printer now */
  copyIds: ReadonlySet<string>;
  doubts: readonly string[];
}>;

/** Copies that are on a printer now: neither there yet nor to be planned. */
export function copiesUnderWay(ledger: readonly LedgerEntry[]): Set<string> {
  return new Set(ledgerState(ledger).underWay.flatMap(({ copyIds }) => copyIds));
}

/** Runs that were started and did not end yet; how long they take is what the ledger says, or else the sum of their pieces' estimates. */
export function underWay(workspace: Workspace, pieces: readonly SlicedPiece[]): Now {
  const state = ledgerState(workspace.ledger);
  const running: Run[] = [];
  const plates: Plate[] = [];
  const durationS: Record<string, Figure> = {};
  const runningNames: Record<string, string> = {};
  const known = new Set(pieces.map(({ piece }) => piece.id));
  for (const { started, copyIds } of state.underWay) {
    const { printerId, runId = `run-${started.at}` } = started;
    if (printerId === undefined || !workspace.printers.some(({ id }) => id === printerId)) continue;
    const plate = snapshotOf(started)?.plate;
    const plateId = plate?.id ?? started.plateId ?? runId;
    const figure = plate?.durationS ?? {
      value: started.durationS ?? sumS(copyIds, printerId, pieces),
      from: 'the ledger',
    };
    const startS = toEpochS(started.at);
    const at = (s: number): string => toInstant(s, workspace.timeZone);
    const endS = startS + Math.ceil(figure.value);
    running.push({
      id: runId,
      plateId,
      printerId,
      attendFrom: at(startS),
      start: at(startS),
      watchedUntil: at(Math.min(endS, startS + workspace.hours.watchS)),
      end: at(endS),
      unloadFrom: at(endS),
      unloadEnd: at(endS),
      unattended: false,
      state: 'running',
      spools: started.spools ?? [],
    });
    durationS[plateId] = figure;
    runningNames[runId] = plate?.name ?? copyIds.join(', ');
    if (plate?.placed.every(({ copyId }) => known.has(pieceIdOf(copyId)))) plates.push(plate);
  }
  const printersNow: Record<string, PrinterNow> = {};
  for (const [printerId, [spoolId]] of Object.entries(state.hanging)) {
    if (spoolId !== undefined && workspace.spools.some(({ id }) => id === spoolId))
      printersNow[printerId] = { spoolId };
  }
  return {
    running,
    plates,
    durationS,
    runningNames,
    printersNow,
    endedRunIds: state.endedRunIds,
    copyIds: new Set(state.underWay.flatMap(({ copyIds }) => copyIds)),
    doubts: state.doubts,
  };
}

/** The plate of a line of the ledger, when it holds one. */
export function snapshotOf({ snapshot }: LedgerEntry): PlateSnapshot | undefined {
  const plate = (snapshot as Partial<PlateSnapshot> | undefined)?.plate;
  return Array.isArray(plate?.placed) && plate.durationS !== undefined ? (snapshot as PlateSnapshot) : undefined;
}

function sumS(copyIds: readonly string[], printerId: string, pieces: readonly SlicedPiece[]): number {
  return copyIds.reduce((sum, copyId) => {
    const piece = pieces.find(({ piece: { id } }) => id === pieceIdOf(copyId));
    const estimate = piece?.estimates.find((one) => one.printerId === printerId) ?? piece?.estimates[0];
    return sum + (estimate?.durationS.value ?? 0);
  }, 0);
}
